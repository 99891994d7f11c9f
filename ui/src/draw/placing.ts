import type { Bounds, Window } from './projection';
import type { Vec2 } from '../api/types';

/* How a picture of a plan lies on its floor: to scale, turned and moved, and never bent.  Pixels count from its upper left corner, down. */

export interface Placing {
  m_per_px: number;
  turn_deg: number; /* against the clock */
  x_m: number; /* where its upper left corner lies */
  y_m: number;
}

const turned = (deg: number, [x, y]: Vec2): Vec2 => {
  const t = (deg * Math.PI) / 180;
  return [x * Math.cos(t) - y * Math.sin(t), x * Math.sin(t) + y * Math.cos(t)];
};
const directionOf = ([x, y]: Vec2): number => (Math.atan2(y, x) * 180) / Math.PI;

/* Between -180 and 180. */
const tidyTurn = (deg: number): number => ((((deg + 180) % 360) + 360) % 360) - 180;

/* The place of a pixel. */
export function toPlace(p: Placing, [u, v]: Vec2): Vec2 {
  const [x, y] = turned(p.turn_deg, [u, -v]);
  return [p.x_m + p.m_per_px * x, p.y_m + p.m_per_px * y];
}

/* The pixel that lies at a place. */
export function toPixel(p: Placing, [x, y]: Vec2): Vec2 {
  const [u, w] = turned(-p.turn_deg, [(x - p.x_m) / p.m_per_px, (y - p.y_m) / p.m_per_px]);
  return [u, -w];
}

/* That this pixel lies at this place, with this scale and turn. */
function pinned(m_per_px: number, turn_deg: number, pixel: Vec2, place: Vec2): Placing {
  const turn = tidyTurn(turn_deg);
  const [x, y] = toPlace({ m_per_px, turn_deg: turn, x_m: 0, y_m: 0 }, pixel);
  return { m_per_px, turn_deg: turn, x_m: place[0] - x, y_m: place[1] - y };
}

/* Two pixels that are so far apart; the first stays where it lies.  `level`: the line between them becomes level, or upright, whichever
   is nearer. */
export function scaledBy(p: Placing, a: Vec2, b: Vec2, distance_m: number, level: boolean): Placing {
  const pixels = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [from, to] = [toPlace(p, a), toPlace(p, b)];
  const now = directionOf([to[0] - from[0], to[1] - from[1]]);
  const turn = level ? Math.round(now / 90) * 90 - now : 0;
  return pinned(distance_m / pixels, p.turn_deg + turn, a, from);
}

/* Two pixels that lie at two places. */
export function laidBy(a: Vec2, at_a: Vec2, b: Vec2, at_b: Vec2): Placing {
  const drawn: Vec2 = [b[0] - a[0], a[1] - b[1]],
    real: Vec2 = [at_b[0] - at_a[0], at_b[1] - at_a[1]];
  return pinned(Math.hypot(...real) / Math.hypot(...drawn), directionOf(real) - directionOf(drawn), a, at_a);
}

/* A picture that was not set to scale yet is shown as wide or as high as the floor. */
export function fitted(width_px: number, height_px: number, b: Bounds): Placing {
  const m_per_px = Math.max(Math.min((b.x1 - b.x0) / width_px, (b.y1 - b.y0) / height_px), 1e-5);
  return {
    m_per_px,
    turn_deg: 0,
    x_m: (b.x0 + b.x1 - width_px * m_per_px) / 2,
    y_m: (b.y0 + b.y1 + height_px * m_per_px) / 2,
  };
}

/* From its pixels to those of the sheet, as SVG's matrix. */
export function matrixOf(p: Placing, w: Window): string {
  const t = (p.turn_deg * Math.PI) / 180;
  const k = p.m_per_px * w.scale;
  const [c, s] = [k * Math.cos(t), k * Math.sin(t)];
  return `matrix(${c} ${-s} ${s} ${c} ${p.x_m * w.scale + w.x} ${w.y - p.y_m * w.scale})`;
}
