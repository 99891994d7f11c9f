import type { Vec2 } from '../api/types';

/* The dark lines of a picture near a spot, and where they meet.  A line is looked for by its profile: the mean darkness of what lies side
   by side along a direction, which is steepest at the line's edges when that direction is its own.  Its middle is half-way between its
   edges, each where the profile is half-way down, to a part of a pixel.  All lengths are pixels of the picture, from its upper left
   corner; the middle of its first pixel is at 0.5, 0.5. */

/* How dark each pixel is, 0 to 255; then the same at half the size, and so on. */
export interface Raster {
  width: number;
  height: number;
  dark: Uint8Array;
  half: Raster | null;
}

export interface Stroke {
  at: Vec2; /* on its middle, nearest to the spot */
  along: Vec2; /* of length 1 */
  thick: number;
}

export interface Ink {
  strokes: Stroke[]; /* the nearest first */
  corners: Vec2[];
}

const LEAST_CONTRAST = 40; /* of 255, between ink and paper */
const LEAST_RISE = 0.2; /* how far a line stands out of its profile; 1: from paper to ink, all along the window */
const SAMPLES = 36; /* from the middle of the window to its edge */
const TURN_DEG = 5;
const LEAST_ANGLE = Math.sin((20 * Math.PI) / 180); /* between lines that make a corner */

export function halved(width: number, height: number, dark: Uint8Array): Raster {
  const [w, h] = [width >> 1, height >> 1];
  if (w < 32 || h < 32) return { width, height, dark, half: null };
  const small = new Uint8Array(w * h);
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++) {
      const i = 2 * (y * width + x);
      small[y * w + x] = (dark[i] + dark[i + 1] + dark[i + width] + dark[i + width + 1] + 2) >> 2;
    }
  return { width, height, dark, half: halved(w, h, small) };
}

/* Between the four pixels around a place; outside of the picture is paper. */
function sample(r: Raster, u: number, v: number): number {
  const [x, y] = [Math.floor(u - 0.5), Math.floor(v - 0.5)];
  const [a, b] = [u - 0.5 - x, v - 0.5 - y];
  const pixel = (i: number, j: number): number =>
    i < 0 || j < 0 || i >= r.width || j >= r.height ? 0 : r.dark[j * r.width + i];
  return (
    (1 - b) * ((1 - a) * pixel(x, y) + a * pixel(x + 1, y)) + b * ((1 - a) * pixel(x, y + 1) + a * pixel(x + 1, y + 1))
  );
}

/* ---- profiles ---- */

interface Run {
  middle: number;
  wide: number;
}

/* Where a profile stands out: from where it has risen half-way to where it has fallen half-way.  What leaves the profile is none. */
function runs(p: readonly number[]): Run[] {
  const out: Run[] = [];
  const side = (from: number, step: 1 | -1): { base: number; edge: number } => {
    let base = p[from];
    let i = from;
    while (i + step >= 0 && i + step < p.length && p[i + step] <= p[from]) base = Math.min(base, p[(i += step)]);
    const half = (p[from] + base) / 2;
    for (i = from; i + step >= 0 && i + step < p.length && p[i + step] > half;) i += step;
    const next = p[i + step];
    return { base, edge: next === undefined ? NaN : i + (step * (p[i] - half)) / (p[i] - next) };
  };
  for (let i = 1; i + 1 < p.length; i++) {
    if (p[i] < p[i - 1] || p[i] < p[i + 1]) continue;
    const [left, right] = [side(i, -1), side(i, 1)];
    const wide = right.edge - left.edge;
    if (!(p[i] - Math.max(left.base, right.base) >= LEAST_RISE) || !(wide > 0)) continue;
    const middle = (left.edge + right.edge) / 2;
    if (!out.some((r) => Math.abs(r.middle - middle) < 0.5)) out.push({ middle, wide });
  }
  return out;
}

const steepness = (p: readonly number[]): number => p.reduce((sum, v, i) => (i ? sum + (v - p[i - 1]) ** 2 : 0), 0);

/* The direction near one where something is most, by halving steps. */
function steepest(of: (rad: number) => number, near: number, reach: number): number {
  let [best, now] = [near, of(near)];
  for (let step = reach; step > 0.0008; step /= 2) {
    const [before, after] = [of(best - step), of(best + step)];
    if (Math.max(before, after) <= now) continue;
    best += before > after ? -step : step;
    now = Math.max(before, after);
  }
  return best;
}

/* What lies around the spot, as samples of 0 (paper) to 1 (ink) that count the more the nearer they are. */
class Patch {
  readonly step: number;
  private readonly x: number[] = [];
  private readonly y: number[] = [];
  private readonly ink: number[] = [];
  private readonly weight: number[] = [];
  readonly paper: number = 0;
  readonly contrast: number = 0;

  constructor(r: Raster, [u, v]: Vec2, reach: number) {
    this.step = Math.max(1, reach / SAMPLES);
    let [level, scale] = [r, 1];
    while (scale < this.step && level.half) [level, scale] = [level.half, scale * 2];
    const n = Math.round(reach / this.step);
    for (let j = -n; j <= n; j++)
      for (let i = -n; i <= n; i++) {
        const share = (i * i + j * j) / (n * n);
        if (share > 1) continue;
        this.x.push(i);
        this.y.push(j);
        this.ink.push(sample(level, (u + i * this.step) / scale, (v + j * this.step) / scale));
        this.weight.push(Math.exp(-2 * share));
      }
    const sorted = Float64Array.from(this.ink).sort();
    this.paper = sorted[Math.floor(sorted.length * 0.05)];
    this.contrast = sorted[Math.floor(sorted.length * 0.997)] - this.paper;
    this.ink.forEach((d, k) => (this.ink[k] = this.share(d)));
  }

  share(dark: number): number {
    return Math.min(Math.max((dark - this.paper) / this.contrast, 0), 1);
  }

  /* Across a direction, bin by bin of one step; `first` is the place of the first bin. */
  profile(rad: number): { p: number[]; first: number } {
    const [nx, ny] = [-Math.sin(rad), Math.cos(rad)];
    const most = Math.floor(SAMPLES * 0.85);
    const [sum, weight] = [new Float64Array(2 * most + 2), new Float64Array(2 * most + 2)];
    for (let k = 0; k < this.ink.length; k++) {
      const s = this.x[k] * nx + this.y[k] * ny + most;
      const i = Math.floor(s);
      if (i < 0 || i > 2 * most) continue;
      const [far, near] = [(s - i) * this.weight[k], (1 - s + i) * this.weight[k]];
      sum[i] += near * this.ink[k];
      weight[i] += near;
      sum[i + 1] += far * this.ink[k];
      weight[i + 1] += far;
    }
    const p = Array.from({ length: 2 * most + 1 }, (_, i) => (weight[i] > 0 ? sum[i] / weight[i] : NaN));
    const a = p.findIndex((v) => !Number.isNaN(v));
    const b = p.length - 1 - a; /* the patch is round */
    return { p: p.slice(a, b + 1), first: a - most };
  }

  /* The directions in which lines run: where the profile is steepest, to a part of a degree. */
  directions(): number[] {
    const turn = (TURN_DEG * Math.PI) / 180;
    const n = 180 / TURN_DEG;
    const of = (rad: number): number => steepness(this.profile(rad).p);
    const s = Array.from({ length: n }, (_, k) => of(k * turn));
    const least = LEAST_RISE ** 2 / 2;
    const peaks = s.flatMap((v, k) => (v > least && v >= s[(k + n - 1) % n] && v > s[(k + 1) % n] ? [k] : []));
    return peaks.map((k) => steepest(of, k * turn, turn / 2));
  }
}

/* ---- strokes and corners ---- */

/* The same line with the pixels' own fineness: how it runs, where its middle is, and how thick it is. */
function precisely(r: Raster, patch: Patch, spot: Vec2, roughly: number, run: Run): { rad: number; run: Run } | null {
  const fine = 0.5;
  const n = Math.ceil((run.wide / 2 + 5) / fine);
  const long = Math.ceil(16 + 2 * run.wide);
  const profile = (rad: number): number[] => {
    const [c, s] = [Math.cos(rad), Math.sin(rad)];
    return Array.from({ length: 2 * n + 1 }, (_, k) => {
      const off = run.middle + (k - n) * fine;
      let sum = 0;
      for (let t = -long; t <= long; t++)
        sum += patch.share(sample(r, spot[0] - s * off + c * t, spot[1] + c * off + s * t));
      return sum / (2 * long + 1);
    });
  };
  const rad = steepest((a) => steepness(profile(a)), roughly, (2 * Math.PI) / 180);
  const found = runs(profile(rad))
    .map((x) => ({ middle: run.middle + (x.middle - n) * fine, wide: x.wide * fine }))
    .sort((a, b) => Math.abs(a.middle - run.middle) - Math.abs(b.middle - run.middle))[0];
  return found && Math.abs(found.middle - run.middle) <= Math.max(3, patch.step * 2) ? { rad, run: found } : null;
}

const isSame = (a: Stroke, b: Stroke): boolean =>
  Math.abs(a.along[0] * b.along[1] - a.along[1] * b.along[0]) < LEAST_ANGLE / 2 &&
  Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1]) < 2;

/* Where two strokes cross, if both have ink there: one that ends before it or has a gap there makes no corner. */
function meeting(r: Raster, patch: Patch, a: Stroke, b: Stroke): Vec2 | null {
  const sine = a.along[0] * b.along[1] - a.along[1] * b.along[0];
  if (Math.abs(sine) < LEAST_ANGLE) return null;
  const off: Vec2 = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
  const far = (off[0] * b.along[1] - off[1] * b.along[0]) / sine;
  const at: Vec2 = [a.at[0] + far * a.along[0], a.at[1] + far * a.along[1]];
  const inked = (t: number, along: Vec2): number => patch.share(sample(r, at[0] + t * along[0], at[1] + t * along[1]));
  const goesOn = (own: Stroke, other: Stroke): boolean =>
    [1, -1].some((way) => {
      const from = other.thick / 2 / Math.abs(sine) + 1;
      let sum = 0;
      for (let t = 0; t < 6; t++) sum += inked(way * (from + t), own.along);
      return sum / 6 > 0.5;
    });
  return inked(0, a.along) > 0.4 && goesOn(a, b) && goesOn(b, a) ? at : null;
}

/* Strokes no thicker than `most` whose middle is not farther from the spot than `within`, and corners that are not. */
export function inkNear(r: Raster, spot: Vec2, within: number, most: number): Ink {
  const patch = new Patch(r, spot, Math.max(within + most * 0.8, 12));
  if (!(patch.contrast >= LEAST_CONTRAST)) return { strokes: [], corners: [] };
  const strokes: Stroke[] = [];
  for (const rad of patch.directions()) {
    const { p, first } = patch.profile(rad);
    for (const rough of runs(p)) {
      const run = { middle: (rough.middle + first) * patch.step, wide: rough.wide * patch.step };
      if (Math.abs(run.middle) > within + patch.step || run.wide > most + patch.step) continue;
      const found = precisely(r, patch, spot, rad, run);
      if (!found || Math.abs(found.run.middle) > within || found.run.wide > most) continue;
      const along: Vec2 = [Math.cos(found.rad), Math.sin(found.rad)];
      const { middle, wide } = found.run;
      const stroke: Stroke = {
        at: [spot[0] - along[1] * middle, spot[1] + along[0] * middle],
        along,
        thick: wide,
      };
      if (!strokes.some((o) => isSame(o, stroke))) strokes.push(stroke);
    }
  }
  const away = ([x, y]: Vec2): number => Math.hypot(x - spot[0], y - spot[1]);
  strokes.sort((a, b) => away(a.at) - away(b.at));
  const corners = strokes
    .flatMap((a, i) => strokes.slice(i + 1).map((b) => meeting(r, patch, a, b)))
    .filter((c): c is Vec2 => c !== null && away(c) <= within)
    .sort((a, b) => away(a) - away(b));
  return { strokes, corners };
}
