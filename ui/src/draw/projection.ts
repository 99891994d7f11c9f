import type { Drawing, DrawnFloor, Vec2 } from '../api/types';
import { leafEnd } from './shapes';

/* From metres to the sheet.  A projection knows a flat place for every point of the house (in metres of paper); the window says
   which part of that plane is seen. */

export interface Window {
  scale: number; /* pixels per metre of paper */
  x: number; /* the pixel at which paper 0, 0 lies */
  y: number;
}

export interface Bounds {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

export interface Projection {
  paper(x: number, y: number, z: number, floor: string | null): Vec2;
  bounds: Bounds;
}

export const toScreen = (w: Window, p: Vec2): Vec2 => [p[0] * w.scale + w.x, p[1] * w.scale + w.y];

export function grow(b: Bounds, [x, y]: Vec2): Bounds {
  return { x0: Math.min(b.x0, x), y0: Math.min(b.y0, y), x1: Math.max(b.x1, x), y1: Math.max(b.y1, y) };
}

export const NOTHING: Bounds = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };

/* The window that shows all of it, with room for words around. */
export function fit(
  b: Bounds,
  width: number,
  height: number,
  left: number,
  top: number,
  right: number,
  bottom: number,
) {
  const w = Math.max(width - left - right, 60),
    h = Math.max(height - top - bottom, 60);
  const bw = Math.max(b.x1 - b.x0, 0.5),
    bh = Math.max(b.y1 - b.y0, 0.5);
  if (!Number.isFinite(bw + bh)) return { scale: 40, x: left, y: top + h };
  const scale = Math.min(w / bw, h / bh);
  return {
    scale,
    x: left + (w - bw * scale) / 2 - b.x0 * scale,
    y: top + (h - bh * scale) / 2 - b.y0 * scale,
  };
}

/* ---- plan: y up the sheet ---- */

export function planOf(d: Drawing, floors: readonly DrawnFloor[]): Projection {
  let bounds = NOTHING;
  const ids = new Set(floors.map((f) => f.id));
  for (const f of floors) for (const [x, y] of f.outline) bounds = grow(bounds, [x, -y]);
  for (const w of d.walls) {
    if (!ids.has(w.floor)) continue;
    for (const [x, y] of w.line) bounds = grow(bounds, [x, -y]);
    for (const { kind, line } of w.openings) {
      const [a, b] = line.map(([x, y]): Vec2 => [x, -y]);
      if (kind === 'door') bounds = grow(bounds, leafEnd(a, b));
    }
  }
  return { paper: (x, y) => [x, -y], bounds };
}

/* ---- floors apart ---- */

/* Floors that lie side by side (a garden beside the ground floor) are one storey. */
export interface Storey {
  z_m: number;
  floors: DrawnFloor[];
  lift: number; /* metres of paper that it is drawn higher than it lies */
}

const SAME_STOREY_M = 1.0;
const RISE = 0.82; /* metres of paper per metre of height */
const SQUASH = 0.5;

export function storeysOf(d: Drawing): Storey[] {
  const out: Storey[] = [];
  const main = [...d.floors].filter((f) => !f.open_air).sort((a, b) => a.z_m - b.z_m || a.id.localeCompare(b.id));
  const take = (f: DrawnFloor): void => {
    const near = out.find((s) => Math.abs(s.z_m - f.z_m) < SAME_STOREY_M);
    if (near) near.floors.push(f);
    else out.push({ z_m: f.z_m, floors: [f], lift: 0 });
  };
  main.forEach(take);
  d.floors.filter((f) => f.open_air).forEach(take);
  return out.sort((a, b) => a.z_m - b.z_m);
}

export interface Axonometry extends Projection {
  storeys: Storey[];
  lift(floor: string | null, z: number): number;
  /* The affine map of a floor at height z: paper = [a b; c d] (x, y) + (e, f). */
  matrix(floor: DrawnFloor, z: number): [number, number, number, number, number, number];
}

/* How much higher than it lies a place is drawn: with its floor, or, where it is of none, by its height between the storeys. */
export function lifterOf(storeys: readonly Storey[]): (floor: string | null, z: number) => number {
  return (floor, z) => {
    const of = floor === null ? undefined : storeys.find((s) => s.floors.some((f) => f.id === floor));
    if (of) return of.lift;
    let best = storeys[0];
    for (let i = 0; i < storeys.length; i++) {
      const s = storeys[i],
        next = storeys[i + 1];
      if (z >= s.z_m - 0.05) best = s;
      if (next && z > s.z_m && z < next.z_m) {
        const share = (z - s.z_m) / (next.z_m - s.z_m);
        return s.lift + share * (next.lift - s.lift);
      }
    }
    return best?.lift ?? 0;
  };
}

export function axonometryOf(d: Drawing, turn_deg: number): Axonometry {
  const t = (turn_deg * Math.PI) / 180;
  const cx = Math.cos(t),
    sx = Math.sin(t);
  const flat = (x: number, y: number): Vec2 => [x * cx + y * sx, (x * sx - y * cx) * SQUASH];
  const storeys = storeysOf(d);
  let lift = 0;
  storeys.forEach((s, i) => {
    if (i > 0) {
      let b = NOTHING;
      for (const f of s.floors) if (!f.open_air) for (const [x, y] of f.outline) b = grow(b, flat(x, y));
      const depth = Number.isFinite(b.y1 - b.y0) ? b.y1 - b.y0 : 2;
      const below = storeys[i - 1].z_m;
      lift += Math.max(0.4, 0.66 * depth + 0.9 - (s.z_m - below) * RISE);
    }
    s.lift = lift;
  });
  const liftOf = lifterOf(storeys);
  const paper = (x: number, y: number, z: number, floor: string | null): Vec2 => {
    const [px, py] = flat(x, y);
    return [px, py - z * RISE - liftOf(floor, z)];
  };
  let bounds = NOTHING;
  for (const f of d.floors)
    for (const [x, y] of f.outline) {
      bounds = grow(bounds, paper(x, y, f.z_m, f.id));
      if (!f.open_air) bounds = grow(bounds, paper(x, y, f.z_m + f.height_m, f.id));
    }
  return {
    paper,
    bounds,
    storeys,
    lift: liftOf,
    matrix: (f, z) => [cx, sx * SQUASH, sx, -cx * SQUASH, 0, -z * RISE - liftOf(f.id, z)],
  };
}
