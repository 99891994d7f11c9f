import { Box2, Box3, PerspectiveCamera, Spherical, Vector2, Vector3 } from 'three';

/* Walking round the model: a camera that looks at a place from a side, a height and a distance.  Every step is drawn at once and
   nothing glides on, so that nothing moves that is not moved. */

const VIEW_DEG = 24; /* narrow: nearly the parallel lines of a drawing */
const LEAST_TILT = 0.12;
const MOST_TILT = Math.PI / 2 - 0.06; /* the lowest: a little above the floor's plane */
const HOME = { turn: 0.72, tilt: 0.92 };

export interface Margins {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

export class Orbit {
  readonly camera = new PerspectiveCamera(VIEW_DEG, 1, 0.1, 4000);
  private readonly target = new Vector3();
  private turn = HOME.turn;
  private tilt = HOME.tilt;
  private far = 30;
  private points: readonly Vector3[] = []; /* what is to be seen whole */
  private margins: Margins = { left: 0, top: 0, right: 0, bottom: 0 };
  private w = 1;
  private h = 1;

  constructor(private readonly moved: () => void) {}

  /* What is to be seen whole, within the view less its margins. */
  frame(points: readonly Vector3[], margins: Margins, anew: boolean): void {
    this.points = points;
    this.margins = margins;
    if (anew) this.home();
  }

  resize(w: number, h: number): void {
    [this.w, this.h] = [Math.max(w, 1), Math.max(h, 1)];
    this.camera.aspect = this.w / this.h;
    this.place();
  }

  home(): void {
    this.turn = HOME.turn;
    this.tilt = HOME.tilt;
    if (!this.points.length) return this.place();
    const all = new Box3().setFromPoints([...this.points]);
    all.getCenter(this.target);
    this.far = 2 * all.getSize(new Vector3()).length() + 1;
    /* where the middle of what is free of the margins lies, and how large that is, in tangents from the middle of the view */
    const perPixel = (2 * Math.tan(((VIEW_DEG / 2) * Math.PI) / 180)) / this.h;
    const m = this.margins;
    const free = [
      Math.max(this.w - m.left - m.right, 60) * perPixel,
      Math.max(this.h - m.top - m.bottom, 60) * perPixel,
    ];
    const middle = [((m.left - m.right) / 2) * perPixel, ((m.bottom - m.top) / 2) * perPixel];
    for (let pass = 0; pass < 5; pass++) {
      this.set();
      const b = this.extent();
      const grows = Math.max((b.max.x - b.min.x) / free[0], (b.max.y - b.min.y) / free[1]);
      const [right, above] = this.axes();
      this.target
        .addScaledVector(right, ((b.max.x + b.min.x) / 2 - middle[0]) * this.far)
        .addScaledVector(above, ((b.max.y + b.min.y) / 2 - middle[1]) * this.far);
      this.far = Math.max(this.far * Math.max(grows, 0.05), 2);
    }
    this.place();
  }

  /* Of all points, in tangents from the middle of the view. */
  private extent(): Box2 {
    const b = new Box2();
    const inverse = this.camera.matrixWorld.clone().invert();
    for (const p of this.points) {
      const q = p.clone().applyMatrix4(inverse);
      b.expandByPoint(new Vector2(q.x, q.y).divideScalar(Math.max(-q.z, 0.1)));
    }
    return b;
  }

  private axes(): [Vector3, Vector3] {
    const [right, above] = [new Vector3(), new Vector3()];
    this.camera.matrixWorld.extractBasis(right, above, new Vector3());
    return [right, above];
  }

  rotate(turn: number, tilt: number): void {
    this.turn += turn;
    this.tilt = Math.min(Math.max(this.tilt + tilt, LEAST_TILT), MOST_TILT);
    this.place();
  }

  zoom(factor: number): void {
    this.far = Math.min(Math.max(this.far / factor, 1.5), 2000);
    this.place();
  }

  /* By pixels of a view so many pixels high. */
  shift(dx: number, dy: number, height: number): void {
    const perPixel = (2 * this.far * Math.tan(((VIEW_DEG / 2) * Math.PI) / 180)) / Math.max(height, 1);
    const [right, above] = this.axes();
    this.target.addScaledVector(right, -dx * perPixel).addScaledVector(above, dy * perPixel);
    this.place();
  }

  /* A direction on the floor, in degrees to the right of the house's y, as it lies on the picture: degrees to the right of up. */
  onScreen_deg(deg: number): number {
    const r = (deg * Math.PI) / 180;
    const way = new Vector3(Math.sin(r), 0, -Math.cos(r));
    const [right, above] = this.axes();
    return (Math.atan2(way.dot(right), way.dot(above)) * 180) / Math.PI;
  }

  /* From where it is seen, in words. */
  get words(): string {
    const turn = ((((this.turn * 180) / Math.PI) % 360) + 360) % 360;
    const side = [
      'the front',
      'the front right',
      'the right',
      'the back right',
      'the back',
      'the back left',
      'the left',
      'the front left',
    ];
    return `from ${side[Math.round(turn / 45) % 8]}, ${Math.round(90 - (this.tilt * 180) / Math.PI)} degrees above`;
  }

  private place(): void {
    this.set();
    this.moved();
  }

  private set(): void {
    const from = new Vector3().setFromSpherical(new Spherical(this.far, this.tilt, this.turn));
    this.camera.position.copy(this.target).add(from);
    this.camera.near = Math.max(this.far / 200, 0.05);
    this.camera.far = this.far * 6 + 200;
    this.camera.lookAt(this.target);
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
  }
}
