import type { Drawing, DrawnFloor, DrawnWall, Vec2 } from '../api/types';
import { words } from '../units';

/* Where a point falls that is drawn near something: on ends and lines of walls, on corners, on dark lines of a picture that lies below,
   square to the last stretch, level with something, else on a grid.  What it falls on is said, and shown by guides. */

export interface Target {
  at: Vec2;
  says: string;
  wall: boolean; /* of this floor */
  pixel_m?: number; /* of a picture: so large is a pixel of it */
}

export interface Line {
  a: Vec2;
  b: Vec2;
  says: string;
  wall: boolean;
  pixel_m?: number;
}

export interface Targets {
  points: Target[];
  lines: Line[];
}

export interface Snapped {
  at: Vec2;
  says: string; /* what it fell on; '': the grid */
  guides: [Vec2, Vec2][];
  wall: boolean; /* it lies on a wall of this floor */
  point: boolean; /* it lies on a corner */
}

export interface Aiming {
  scale: number; /* pixels for a metre */
  fine: boolean; /* centimetres, and nothing draws the point to itself */
  from?: Vec2; /* the point before */
  before?: Vec2; /* and the one before that */
}

const GRID_M = 0.05;
const FINE_M = 0.01;
const POINT_PX = 11;
const LINE_PX = 8;
const TURN_DEG = 15;

/* How far a point is drawn at most, in metres. */
export const reach = (scale: number): number => POINT_PX / scale;

const add = (a: Vec2, b: Vec2, k = 1): Vec2 => [a[0] + k * b[0], a[1] + k * b[1]];
const sub = (a: Vec2, b: Vec2): Vec2 => [a[0] - b[0], a[1] - b[1]];
const dot = (a: Vec2, b: Vec2): number => a[0] * b[0] + a[1] * b[1];
const cross = (a: Vec2, b: Vec2): number => a[0] * b[1] - a[1] * b[0];
export const distance = (a: Vec2, b: Vec2): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/* To the millimetre: no digits in the file that nobody can measure. */
export const tidy = ([x, y]: Vec2): Vec2 => [tidyNumber(x), tidyNumber(y)];
export const tidyNumber = (v: number): number => Math.round(v * 1000) / 1000 + 0;

const onGrid = (v: number, step: number): number => Math.round(v / step) * step;

/* The nearest place of a stretch, and how far along it that is. */
export function nearestOn(a: Vec2, b: Vec2, at: Vec2): { at: Vec2; along: number; away: number } {
  const d = sub(b, a);
  const length = Math.hypot(...d);
  const along = length > 0 ? Math.min(Math.max(dot(sub(at, a), d) / length, 0), length) : 0;
  const place = length > 0 ? add(a, d, along / length) : a;
  return { at: place, along, away: distance(place, at) };
}

export interface OnWall {
  wall: DrawnWall;
  at: Vec2;
  along: number; /* of the whole wall */
  start: number; /* where its stretch begins, along the wall */
  length: number; /* of its stretch */
  away: number;
}

/* The wall of a floor that is nearest to a point. */
export function nearestWall(d: Drawing, floor: string, at: Vec2): OnWall | null {
  let best: OnWall | null = null;
  for (const wall of d.walls) {
    let walked = 0;
    if (wall.floor !== floor) continue;
    for (let i = 0; i + 1 < wall.line.length; i++) {
      const [a, b] = [wall.line[i], wall.line[i + 1]];
      const near = nearestOn(a, b, at);
      if (!best || near.away < best.away - 1e-9)
        best = {
          wall,
          at: near.at,
          along: walked + near.along,
          start: walked,
          length: distance(a, b),
          away: near.away,
        };
      walked += distance(a, b);
    }
  }
  return best;
}

export function below(d: Drawing, floor: DrawnFloor): DrawnFloor | null {
  const under = d.floors.filter((f) => !f.open_air && f.z_m < floor.z_m - 1);
  return under.reduce<DrawnFloor | null>((best, f) => (!best || f.z_m > best.z_m ? f : best), null);
}

/* What a point can fall on: this floor's walls, outline and rooms, and the walls and outline of the floor below. */
export function targetsOf(d: Drawing, floor: DrawnFloor, skip: (path: string) => boolean = () => false): Targets {
  const out: Targets = { points: [], lines: [] };
  const chain = (line: Vec2[], closed: boolean, name: string, wall: boolean): void => {
    const n = line.length;
    line.forEach((at, i) => {
      const end = !closed && (i === 0 || i === n - 1);
      out.points.push({ at, says: `${end ? 'end' : 'corner'} of ${name}`, wall });
    });
    for (let i = 0; i + (closed ? 0 : 1) < n; i++)
      out.lines.push({ a: line[i], b: line[(i + 1) % n], says: `on ${name}`, wall });
  };
  for (const w of d.walls) if (w.floor === floor.id && !skip(w.path)) chain(w.line, false, words(w.id), true);
  if (!skip(floor.path)) chain(floor.outline, true, `the outline of ${floor.name}`, false);
  for (const r of d.rooms) if (r.floor === floor.id && !skip(r.path)) chain(r.outline, true, r.name, false);
  const under = below(d, floor);
  if (under) {
    chain(under.outline, true, `the outline of ${under.name}`, false);
    for (const w of d.walls) if (w.floor === under.id) chain(w.line, false, `${words(w.id)} below`, false);
  }
  return out;
}

/* What a picture has near the pointer. */
export interface InkOnPlan {
  corners: Vec2[];
  lines: [Vec2, Vec2][];
  pixel_m: number;
}

export function addInk(to: Targets, ink: InkOnPlan): void {
  const of = { wall: false, pixel_m: ink.pixel_m };
  to.points.push(...ink.corners.map((at) => ({ ...of, at, says: 'corner in the picture' })));
  to.lines.push(...ink.lines.map(([a, b]) => ({ ...of, a, b, says: 'on a line of the picture' })));
}

/* A point of a picture itself: its nearest corner, else its nearest line, else where it was pointed at. */
export function onInk(at: Vec2, to: Targets, within: number): { at: Vec2; says: string } {
  const corner = nearestPoint(at, to, within);
  if (corner) return corner;
  const lines = to.lines.map((l) => ({ ...nearestOn(l.a, l.b, at), says: l.says }));
  const nearest = lines.sort((p, q) => p.away - q.away)[0];
  return nearest && nearest.away <= within ? nearest : { at, says: '' };
}

/* Where walls stand already they are fallen on, wherever the picture has them; what it shows is truer than the outline of a house begun
   from nothing. */
function caught(at: Vec2, to: Targets, o: Aiming): Target | null {
  const within = reach(o.scale);
  const of = (is: (p: Target) => unknown): Target | null =>
    nearestPoint(at, { ...to, points: to.points.filter(is) }, within);
  return of((p) => p.wall) ?? of((p) => p.pixel_m) ?? of(() => true);
}

function nearestPoint(at: Vec2, to: Targets, within: number): Target | null {
  let best: Target | null = null;
  for (const p of to.points) {
    const far = distance(p.at, at);
    if (far <= within && (!best || far < distance(best.at, at) - 1e-9)) best = p;
  }
  return best;
}

/* The direction from the last point that is meant: every 15 degrees of the sheet, and of the stretch before. */
function meant(at: Vec2, o: Aiming): { d: Vec2; says: string } | null {
  if (!o.from) return null;
  const d = sub(at, o.from);
  const far = Math.hypot(...d);
  if (far * o.scale < LINE_PX) return null;
  const angle = (Math.atan2(d[1], d[0]) * 180) / Math.PI;
  const bases = [0];
  if (o.before) {
    const e = sub(o.from, o.before);
    bases.push((Math.atan2(e[1], e[0]) * 180) / Math.PI);
  }
  let best: { d: Vec2; says: string; off: number } | null = null;
  bases.forEach((base, i) => {
    const turn = Math.round((angle - base) / TURN_DEG) * TURN_DEG;
    const rad = ((base + turn) * Math.PI) / 180;
    const ray: Vec2 = [Math.cos(rad), Math.sin(rad)];
    const square = turn % 90 === 0;
    const off = (Math.abs(cross(ray, d)) * o.scale) / (square ? 1.7 : 0.8);
    if (off > LINE_PX || (best && off >= best.off - (square ? 2 : 0))) return;
    const quarter = Math.abs(((turn % 360) + 360) % 180);
    const says = i
      ? square
        ? 'square to the last stretch'
        : `${turn}° to the last stretch`
      : square
        ? 'straight'
        : `${quarter}°`;
    best = { d: ray, says, off };
  });
  return best;
}

/* Along the meant direction: to the next wall, level with something, or so many steps of the grid. */
function alongRay(at: Vec2, to: Targets, o: Aiming, ray: { d: Vec2; says: string }): Snapped {
  const from = o.from as Vec2;
  const far = dot(sub(at, from), ray.d);
  const guide = (end: Vec2): [Vec2, Vec2] => [from, end];
  let best: Snapped | null = null;
  let least = POINT_PX / o.scale;
  /* walls stand first in the list: they are named before the outline on which they stand */
  for (const l of to.lines) {
    const e = sub(l.b, l.a);
    const sine = cross(ray.d, e);
    if (Math.abs(sine) < 1e-6) continue;
    const t = cross(sub(l.a, from), e) / sine;
    const place = add(from, ray.d, t);
    const off = Math.abs(t - far);
    if (off > least - (best ? 1e-9 : 0) || nearestOn(l.a, l.b, place).away > 1e-6) continue;
    least = off;
    best = { at: place, says: `${l.says}, ${ray.says}`, guides: [guide(place)], wall: l.wall, point: false };
  }
  if (best) return best;
  least = LINE_PX / o.scale;
  for (const p of to.points) {
    const t = dot(sub(p.at, from), ray.d);
    const off = Math.abs(t - far);
    const place = add(from, ray.d, t);
    if (off > least || t <= 0) continue;
    least = off;
    best = {
      at: place,
      says: `${ray.says}, level with the ${p.says}`,
      guides: [guide(place), [p.at, place]],
      wall: false,
      point: false,
    };
  }
  if (best) return best;
  const place = add(from, ray.d, onGrid(far, GRID_M));
  return { at: place, says: ray.says, guides: [guide(place)], wall: false, point: false };
}

function onLine(at: Vec2, to: Targets, scale: number): Snapped | null {
  let best: Line | null = null;
  let least = LINE_PX / scale;
  for (const l of to.lines) {
    const { away } = nearestOn(l.a, l.b, at);
    if (away > least - 1e-9) continue;
    least = away;
    best = l;
  }
  if (!best) return null;
  const length = distance(best.a, best.b);
  const near = nearestOn(best.a, best.b, at).along;
  const along = best.pixel_m ? near : Math.min(onGrid(near, GRID_M), length);
  const place = add(best.a, sub(best.b, best.a), along / length);
  return { at: place, says: best.says, guides: [[best.a, best.b]], wall: best.wall, point: false };
}

/* East and north by themselves: level with a corner, else on the grid. */
function level(at: Vec2, to: Targets, scale: number): Snapped {
  const place: Vec2 = [onGrid(at[0], GRID_M), onGrid(at[1], GRID_M)];
  const guides: [Vec2, Vec2][] = [];
  const says: string[] = [];
  for (const axis of [0, 1] as const) {
    let least = (LINE_PX * 0.7) / scale;
    let found: Target | null = null;
    for (const p of to.points) {
      const off = Math.abs(p.at[axis] - at[axis]);
      if (off > least - 1e-9) continue;
      least = off;
      found = p;
    }
    if (!found) continue;
    place[axis] = found.at[axis];
    guides.push([found.at, place]);
    says.push(`level with the ${found.says}`);
  }
  return { at: place, says: says[0] ?? '', guides, wall: false, point: false };
}

export function snap(at: Vec2, to: Targets, o: Aiming): Snapped {
  const done = (s: Snapped): Snapped => ({ ...s, at: tidy(s.at) });
  if (o.fine)
    return done({
      at: [onGrid(at[0], FINE_M), onGrid(at[1], FINE_M)],
      says: '',
      guides: [],
      wall: false,
      point: false,
    });
  const point = caught(at, to, o);
  const ray = meant(at, o);
  if (point?.pixel_m && ray) {
    /* a wall that is straight but for a pixel or two is meant to be straight */
    const foot = add(o.from as Vec2, ray.d, dot(sub(point.at, o.from as Vec2), ray.d));
    if (distance(foot, point.at) <= 2 * point.pixel_m)
      return done({
        at: foot,
        says: `${point.says}, ${ray.says}`,
        guides: [[o.from as Vec2, foot]],
        wall: false,
        point: true,
      });
  }
  if (point) return done({ at: point.at, says: point.says, guides: [], wall: point.wall, point: true });
  if (ray) return done(alongRay(at, to, o, ray));
  return done(onLine(at, to, o.scale) ?? level(at, to, o.scale));
}

/* Does a stretch lie on the outline of a floor? */
export function isOnOutline(floor: DrawnFloor, a: Vec2, b: Vec2): boolean {
  const n = floor.outline.length;
  for (let i = 0; i < n; i++) {
    const [p, q] = [floor.outline[i], floor.outline[(i + 1) % n]];
    if (nearestOn(p, q, a).away < 0.3 && nearestOn(p, q, b).away < 0.3) return true;
  }
  return false;
}
