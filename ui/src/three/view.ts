import { html, render, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { classMap } from 'lit/directives/class-map.js';
import { keyed } from 'lit/directives/keyed.js';
import type { Vec2, Vec3 } from '../api/types';
import { isWide } from '../draw/stage';
import { ARROWS } from '../view/tools/tool';
import { HouseView } from '../view/base';
import { isNoted } from '../view/layers/evidence';
import { legend } from '../view/legend';
import { hiddenFloors } from '../view/model';
import { describe } from './describe';
import { labels, thingAt } from './labels';
import { Model } from './model';
import { type Margins, Orbit } from './orbit';
import { Stage } from './stage';

/* The house in three dimensions: a model of paper that is turned by pointer, touch or keys.  Words and marks lie over the picture, as on
   the other drawings. */

const NEAR_PX = 4;
const TURN = 0.008; /* radians for a pixel */
const STEP = Math.PI / 18; /* for an arrow key */

@customElement('rt-model')
export class ModelView extends HouseView {
  @state() private trouble = '';
  private stage: Stage | null = null;
  private orbit = new Orbit(() => this.stage?.ask());
  private size = { w: 0, h: 0 };
  private round = 0; /* a canvas that was let go is not drawn on again */
  private made = ''; /* of what the model was made */
  private painted: unknown = null;
  private rayed: unknown = null;
  private framed = '';
  private readonly touches = new Map<number, Vec2>();
  private press: { at: Vec2; moved: boolean; shifts: boolean } | null = null;
  private spread = 0;
  private readonly dark = window.matchMedia('(prefers-color-scheme: dark)');
  private readonly again = (): void => this.requestUpdate();
  private readonly watch = new ResizeObserver(([e]) => this.resize(e.contentRect.width, e.contentRect.height));

  connectedCallback(): void {
    super.connectedCallback();
    this.watch.observe(this);
    this.dark.addEventListener('change', this.again);
    if (this.hasUpdated) this.requestUpdate();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.watch.disconnect();
    this.dark.removeEventListener('change', this.again);
    this.end();
  }

  private end(): void {
    if (this.stage) this.round++;
    this.stage?.dispose();
    this.stage = null;
    this.made = this.framed = '';
    this.painted = this.rayed = null;
  }

  /* ---- what is on the sheet ---- */

  render(): TemplateResult {
    const d = this.house.drawing;
    if (this.trouble)
      return html`<div class="in-sheet model-trouble">
        <p class="lead" role="status">${this.trouble}</p>
        <p class="ways">
          <span>The plan and the floors apart tell the same:</span>
          <button type="button" class="word" @click=${() => this.house.set({ view: 'apart' })}>floors apart</button>
          <button type="button" class="word" @click=${() => this.house.set({ view: 'plan' })}>plan</button>
        </p>
      </div>`;
    if (!d) return html`<p class="quiet in-sheet">${this.house.drawingTrouble || 'The drawing is being made.'}</p>`;
    if (!d.floors.length)
      return html`<p class="in-sheet lead">There is nothing to draw yet: the house has no floor.</p>`;
    return html`<div
        class=${classMap({ model: true, 'is-turning': !!this.press?.moved })}
        tabindex="0"
        role="application"
        aria-roledescription="model"
        aria-label=${`${d.name} in 3-D. Arrow keys turn it, Shift with arrows moves it, plus and minus zoom, 0 shows all.`}
        aria-describedby="model-says"
        @wheel=${this.onWheel}
        @pointerdown=${this.onDown}
        @pointermove=${this.onMove}
        @pointerup=${this.onUp}
        @pointercancel=${this.onUp}
        @contextmenu=${(e: Event) => e.preventDefault()}
        @keydown=${this.onKey}
      >
        ${keyed(this.round, html`<canvas></canvas>`)}
        <svg class="house over" aria-hidden="true"></svg>
      </div>
      <p id="model-says" class="unseen">${describe(this.house, hiddenFloors(this.house))}</p>
      ${legend(this.house)}
      <div class="zoom" role="group" aria-label="Size of the model">
        <button type="button" aria-label="larger" @click=${() => this.orbit.zoom(1.25)}>+</button>
        <button type="button" aria-label="smaller" @click=${() => this.orbit.zoom(0.8)}>−</button>
        <button type="button" @click=${() => this.orbit.home()}>all</button>
      </div>`;
  }

  protected updated(): void {
    const canvas = this.querySelector('canvas');
    if (!this.isConnected) return;
    if (!canvas) {
      if (this.stage) this.end();
      return;
    }
    if (!this.stage && !this.begin(canvas)) return;
    this.sync();
  }

  private begin(canvas: HTMLCanvasElement): boolean {
    this.stage = Stage.on(canvas, this.orbit, this.onDrawn);
    if (!this.stage) {
      this.trouble = 'This browser draws nothing in three dimensions: WebGL is missing, or was switched off.';
      return false;
    }
    canvas.addEventListener('webglcontextlost', this.onLost);
    if (this.size.w) this.stage.resize(this.size.w, this.size.h);
    return true;
  }

  private onLost = (e: Event): void => {
    e.preventDefault();
    if (!this.stage) return; /* it was we who let it go */
    this.end();
    this.trouble = 'The system took the 3-D picture away. Look at it again by choosing another view and then this one.';
  };

  /* What has changed since the last picture is made anew, and nothing else. */
  private sync(): void {
    const { house, stage } = this;
    const d = house.drawing;
    if (!d || !stage) return;
    const style = getComputedStyle(document.documentElement);
    const made = `${house.state}|${house.look.lifted}|${style.getPropertyValue('--sheet')}|${d.floors.length}`;
    if (made !== this.made || stage.model?.d !== d) {
      this.made = made;
      stage.show(new Model(d, house.look.lifted === 'lifted'));
      this.painted = this.rayed = null;
    }
    const model = stage.model as Model;
    const noted = isNoted(house, null, this.size);
    const framed = `${house.name}|${house.look.lifted}|${house.look.hidden}|${noted}`;
    this.orbit.frame(model.corners(hiddenFloors(house)), this.margins(noted), framed !== this.framed);
    this.framed = framed;
    model.hide(hiddenFloors(house));
    if (this.painted !== house.fields) model.paint(house.fields);
    this.painted = house.fields;
    const heard = house.spot ? (house.report ?? house.spot) : null;
    if (this.rayed !== heard) this.radiate(model);
    this.rayed = heard;
    stage.ask();
  }

  private margins(noted: boolean): Margins {
    return isWide(this.size)
      ? { left: 120, top: 34, right: noted ? 290 : 70, bottom: 70 }
      : { left: 84, top: 16, right: 34, bottom: 50 };
  }

  private radiate(model: Model): void {
    const { spot, report } = this.house;
    const end: Vec3 | null = spot && model.spotHeight(spot.floor, spot.at);
    const paths = !end
      ? []
      : (report?.access_points ?? []).slice(0, 4).flatMap((heard, i) => {
          const from = model.d.equipment.find((e) => e.id === heard.id)?.at;
          const drawn = heard.paths.filter((p) => p.points_m.length > 1);
          if (drawn.length) return drawn.map((p, k) => ({ points: p.points_m, isBest: !i && !k }));
          return from ? [{ points: [from, end], isBest: !i }] : [];
        });
    model.radiate(paths, spot?.floor ?? '', end);
  }

  private onDrawn = (): void => {
    const over = this.querySelector<SVGSVGElement>('svg.over');
    if (!over || !this.stage?.model) return;
    over.setAttribute('width', String(this.size.w));
    over.setAttribute('height', String(this.size.h));
    render(labels(this.house, this.stage, this.orbit, hiddenFloors(this.house), this.size), over);
  };

  private resize(w: number, h: number): void {
    const first = !this.size.w;
    this.size = { w, h };
    if (!w || !h) return;
    this.orbit.resize(w, h);
    this.stage?.resize(w, h);
    if (first) this.framed = '';
    this.requestUpdate();
  }

  /* ---- pointer, touch, keys ---- */

  private local(e: MouseEvent): Vec2 {
    const box = this.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  private onWheel = (e: WheelEvent): void => {
    e.preventDefault();
    this.orbit.zoom(Math.exp(-e.deltaY / 600));
  };

  private onDown = (e: PointerEvent): void => {
    const at = this.local(e);
    (e.currentTarget as HTMLElement).setPointerCapture(e.pointerId);
    this.touches.set(e.pointerId, at);
    if (this.touches.size === 2) this.pinch();
    this.press = this.touches.size > 1 ? null : { at, moved: false, shifts: e.shiftKey || e.button !== 0 };
  };

  /* Middle of the two fingers, and how far they are apart. */
  private pinch(): Vec2 {
    const [a, b] = [...this.touches.values()];
    this.spread = Math.hypot(a[0] - b[0], a[1] - b[1]);
    return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  }

  private onMove = (e: PointerEvent): void => {
    const before = this.touches.get(e.pointerId);
    if (!before) return;
    const at = this.local(e);
    if (this.touches.size === 2) {
      const was = this.spread,
        from = this.pinch();
      this.touches.set(e.pointerId, at);
      const to = this.pinch();
      if (was > 0) this.orbit.zoom(this.spread / was);
      this.orbit.shift(to[0] - from[0], to[1] - from[1], this.size.h);
      return;
    }
    const press = this.press;
    if (!press) return;
    if (!press.moved && Math.hypot(at[0] - press.at[0], at[1] - press.at[1]) < NEAR_PX) return;
    press.moved = true;
    this.touches.set(e.pointerId, at);
    const [dx, dy] = [at[0] - before[0], at[1] - before[1]];
    if (press.shifts) this.orbit.shift(dx, dy, this.size.h);
    else this.orbit.rotate(-dx * TURN, -dy * TURN);
  };

  private onUp = (e: PointerEvent): void => {
    this.touches.delete(e.pointerId);
    const press = this.press;
    this.press = null;
    this.spread = 0;
    if (press && !press.moved && !press.shifts && e.type === 'pointerup') this.tap(press.at);
  };

  /* A thing is chosen; of a floor it is asked what is heard there. */
  private tap(at: Vec2): void {
    const { house, stage } = this;
    if (!stage?.model) return;
    const path = thingAt(house, stage, hiddenFloors(house), at);
    if (path) {
      const [, section, item] = path.split('/');
      return house.set({ side: 'change', section, item: decodeURIComponent(item ?? '') });
    }
    const hit = stage.hit(at);
    if (hit) void house.listen(hit.floor, hit.at);
  }

  private onKey = (e: KeyboardEvent): void => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = ARROWS[e.key];
    if (step && e.shiftKey) this.orbit.shift(step[0] * 60, -step[1] * 60, this.size.h);
    else if (step) this.orbit.rotate(step[0] * STEP, -step[1] * STEP);
    else if (e.key === '+' || e.key === '=') this.orbit.zoom(1.25);
    else if (e.key === '-') this.orbit.zoom(0.8);
    else if (e.key === '0') this.orbit.home();
    else if (e.key === 'Escape' && this.house.spot) this.house.forgetSpot();
    else return;
    e.preventDefault();
    e.stopPropagation();
    if (step || e.key === '0') this.house.say(`seen ${this.orbit.words}`);
  };
}
