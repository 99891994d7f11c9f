import { Raycaster, Vector2, type Vector3, WebGLRenderer } from 'three';
import type { Vec2 } from '../api/types';
import type { Model } from './model';
import type { Orbit } from './orbit';

/* Draws a model when it is asked to, and at no other time. */
export class Stage {
  private readonly renderer: WebGLRenderer;
  private readonly caster = new Raycaster();
  private asked = 0;
  private w = 1;
  private h = 1;
  model: Model | null = null;

  /* NULL: this browser gives no WebGL. */
  static on(canvas: HTMLCanvasElement, orbit: Orbit, drawn: () => void): Stage | null {
    const context = canvas.getContext('webgl2', { antialias: true, alpha: true, powerPreference: 'low-power' });
    return context ? new Stage(canvas, context, orbit, drawn) : null;
  }

  private constructor(
    canvas: HTMLCanvasElement,
    context: WebGL2RenderingContext,
    private readonly orbit: Orbit,
    private readonly drawn: () => void,
  ) {
    this.renderer = new WebGLRenderer({ canvas, context, antialias: true, alpha: true });
    this.renderer.setClearColor(0, 0);
  }

  resize(w: number, h: number): void {
    this.w = Math.max(w, 1);
    this.h = Math.max(h, 1);
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setSize(this.w, this.h, false);
    this.model?.paper.resize(this.w, this.h);
    this.ask();
  }

  show(model: Model): void {
    this.model?.dispose();
    this.model = model;
    model.paper.resize(this.w, this.h);
    this.ask();
  }

  /* One picture, with the next frame of the screen. */
  ask(): void {
    this.asked ||= requestAnimationFrame(() => {
      this.asked = 0;
      if (!this.model) return;
      this.renderer.render(this.model.scene, this.orbit.camera);
      this.drawn();
    });
  }

  /* Where a place of the model is seen, in pixels; null: behind the eye. */
  seen(at: Vector3): Vec2 | null {
    const p = at.clone().project(this.orbit.camera);
    return p.z > 1 ? null : [((p.x + 1) / 2) * this.w, ((1 - p.y) / 2) * this.h];
  }

  /* The floor that is seen at a pixel. */
  hit([x, y]: Vec2): { floor: string; at: Vec2 } | null {
    const m = this.model;
    if (!m) return null;
    this.caster.setFromCamera(new Vector2((x / this.w) * 2 - 1, 1 - (y / this.h) * 2), this.orbit.camera);
    const first = this.caster.intersectObjects(
      m.grounds.filter((g) => g.parent?.visible),
      false,
    )[0];
    return first ? m.spotOn(first.object, first.point) : null;
  }

  /* Does a floor stand between the eye and this place? */
  isHidden(at: Vector3): boolean {
    const m = this.model;
    if (!m) return false;
    const eye = this.orbit.camera.position;
    const way = at.clone().sub(eye);
    const far = way.length();
    this.caster.set(eye, way.normalize());
    this.caster.near = 0;
    this.caster.far = far - 0.08;
    const is =
      this.caster.intersectObjects(
        m.grounds.filter((g) => g.parent?.visible),
        false,
      ).length > 0;
    this.caster.far = Infinity;
    return is;
  }

  dispose(): void {
    cancelAnimationFrame(this.asked);
    this.model?.dispose();
    this.model = null;
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }
}
