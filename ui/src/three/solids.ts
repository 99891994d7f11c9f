import {
  BufferGeometry,
  ExtrudeGeometry,
  Float32BufferAttribute,
  Path,
  Shape,
  ShapeGeometry,
  ShapeUtils,
  Vector2,
} from 'three';
import type { DrawnFloor, DrawnOpening, DrawnWall, FieldGrid, Vec2, Vec3 } from '../api/types';

/* The house as solids.  House metres are x, y on the floor and z up; the model's are x, up, -y. */

export const toModel = ([x, y, z]: Vec3): Vec3 => [x, z, -y];

const SMALL_M = 1e-3;

/* ---- walls: each straight leg a board, standing, with its openings cut out ---- */

export interface Leg {
  wall: DrawnWall;
  a: Vec2;
  b: Vec2;
  length_m: number;
  from_m: number; /* along the wall's line to a */
  /* how far a face's end moves along the leg for each metre it lies right of the middle line, so that corners close */
  mitre: [number, number];
}

const direction = (l: Leg): Vec2 => [(l.b[0] - l.a[0]) / l.length_m, (l.b[1] - l.a[1]) / l.length_m];

/* Legs of the walls of one floor, mitred where the two thickest meet. */
export function legsOf(walls: readonly DrawnWall[]): Leg[] {
  const legs: Leg[] = [];
  for (const wall of walls) {
    let walked = 0;
    for (let i = 0; i + 1 < wall.line.length; i++) {
      const [a, b] = [wall.line[i], wall.line[i + 1]];
      const length_m = Math.hypot(b[0] - a[0], b[1] - a[1]);
      if (length_m > SMALL_M) legs.push({ wall, a, b, length_m, from_m: walked, mitre: [0, 0] });
      walked += length_m;
    }
  }
  const joints = new Map<string, { leg: Leg; end: 0 | 1 }[]>();
  const meet = (leg: Leg, end: 0 | 1, [x, y]: Vec2): void => {
    const key = `${Math.round(x * 100)},${Math.round(y * 100)}`;
    const here = joints.get(key);
    if (here) here.push({ leg, end });
    else joints.set(key, [{ leg, end }]);
  };
  for (const leg of legs) {
    meet(leg, 0, leg.a);
    meet(leg, 1, leg.b);
  }
  for (const here of joints.values()) {
    const [p, q] = here.sort((m, n) => n.leg.wall.thickness_m - m.leg.wall.thickness_m);
    if (!q) continue;
    mitre(p, q);
    mitre(q, p);
  }
  return legs;
}

const MITRE_MOST = 1.5;

function mitre(p: { leg: Leg; end: 0 | 1 }, q: { leg: Leg; end: 0 | 1 }): void {
  const sign = p.end === 1 ? 1 : -1;
  const [px, py] = direction(p.leg).map((c) => c * sign); /* to the joint */
  const [qx, qy] = direction(q.leg).map((c) => c * (q.end === 0 ? 1 : -1)); /* and away from it */
  const t = Math.tan(Math.atan2(px * qy - py * qx, px * qx + py * qy) / 2);
  if (Math.abs(t) <= MITRE_MOST) p.leg.mitre[p.end] = t;
}

interface Cut {
  from: number;
  to: number;
  sill: number;
  head: number;
}

function cutsOf(leg: Leg): Cut[] {
  const { base_m, top_m } = leg.wall;
  const out: Cut[] = [];
  const clip = (o: DrawnOpening): Cut => ({
    from: Math.max(o.from_m - leg.from_m, SMALL_M),
    to: Math.min(o.to_m - leg.from_m, leg.length_m - SMALL_M),
    sill: Math.max(o.sill_m, base_m),
    head: Math.min(o.head_m, top_m),
  });
  for (const c of leg.wall.openings.map(clip).sort((p, q) => p.from - q.from)) {
    const before = out.length ? out[out.length - 1].to : 0;
    if (c.to - Math.max(c.from, before) > SMALL_M && c.head - c.sill > SMALL_M)
      out.push({ ...c, from: Math.max(c.from, before + SMALL_M) });
  }
  return out;
}

/* The elevation of a leg: along it, and up from the floor. */
function elevation(leg: Leg): Shape[] {
  const { base_m, top_m } = leg.wall;
  const out: Shape[] = [];
  let from = 0;
  let here: Cut[] = [];
  const close = (to: number): void => {
    if (to - from > SMALL_M && top_m - base_m > SMALL_M) out.push(board(from, to, base_m, top_m, here));
    here = [];
  };
  for (const c of cutsOf(leg)) {
    if (c.sill <= base_m + SMALL_M && c.head >= top_m - SMALL_M) {
      close(c.from);
      from = c.to;
    } else here.push(c);
  }
  close(leg.length_m);
  return out;
}

function board(from: number, to: number, base: number, top: number, cuts: Cut[]): Shape {
  const s = new Shape();
  s.moveTo(from, base);
  const low = cuts.filter((c) => c.sill <= base + SMALL_M);
  const high = cuts.filter((c) => c.head >= top - SMALL_M && !low.includes(c)).reverse();
  for (const c of low) s.lineTo(c.from, base).lineTo(c.from, c.head).lineTo(c.to, c.head).lineTo(c.to, base);
  s.lineTo(to, base).lineTo(to, top);
  for (const c of high) s.lineTo(c.to, top).lineTo(c.to, c.sill).lineTo(c.from, c.sill).lineTo(c.from, top);
  s.lineTo(from, top).closePath();
  for (const c of cuts) {
    if (low.includes(c) || high.includes(c)) continue;
    const hole = new Path();
    hole.moveTo(c.from, c.sill).lineTo(c.from, c.head).lineTo(c.to, c.head).lineTo(c.to, c.sill).closePath();
    s.holes.push(hole);
  }
  return s;
}

const THIN_M = 0.02; /* a wall whose construct says no thickness is still seen */

export function wallSolid(leg: Leg, z_m: number): BufferGeometry | null {
  const shapes = elevation(leg);
  if (!shapes.length) return null;
  const thick = Math.max(leg.wall.thickness_m, THIN_M);
  const g = new ExtrudeGeometry(shapes, { depth: thick, bevelEnabled: false, steps: 1 });
  const [dx, dy] = direction(leg);
  const at = g.getAttribute('position');
  for (let i = 0; i < at.count; i++) {
    let u = at.getX(i);
    const h = at.getY(i),
      v = at.getZ(i) - thick / 2;
    if (u < SMALL_M / 2) u += v * leg.mitre[0];
    else if (u > leg.length_m - SMALL_M / 2) u += v * leg.mitre[1];
    at.setXYZ(i, leg.a[0] + u * dx + v * dy, z_m + h, -(leg.a[1] + u * dy - v * dx));
  }
  return g;
}

/* The panes of a leg's windows: flat, in the middle of the wall. */
export function panes(leg: Leg, z_m: number): BufferGeometry | null {
  const [dx, dy] = direction(leg);
  const corners: number[] = [];
  for (const o of leg.wall.openings) {
    const from = Math.max(o.from_m - leg.from_m, 0),
      to = Math.min(o.to_m - leg.from_m, leg.length_m);
    if (o.kind !== 'window' || to <= from) continue;
    const at = (u: number, h: number): Vec3 => [leg.a[0] + u * dx, z_m + h, -(leg.a[1] + u * dy)];
    const [p, q, r, s] = [at(from, o.sill_m), at(to, o.sill_m), at(to, o.head_m), at(from, o.head_m)];
    corners.push(...p, ...q, ...r, ...p, ...r, ...s);
  }
  return corners.length ? flatGeometry(corners) : null;
}

function flatGeometry(corners: number[]): BufferGeometry {
  const g = new BufferGeometry();
  g.setAttribute('position', new Float32BufferAttribute(corners, 3));
  g.computeVertexNormals();
  return g;
}

/* ---- what lies or stands on an outline ---- */

const shapeOf = (outline: readonly Vec2[], holes: readonly (readonly Vec2[])[] = []): Shape => {
  const s = new Shape(outline.map(([x, y]) => new Vector2(x, y)));
  for (const h of holes) s.holes.push(new Path(h.map(([x, y]) => new Vector2(x, y))));
  return s;
};

/* From z to z, upright on the outline. */
export function prism(
  outline: readonly Vec2[],
  holes: readonly (readonly Vec2[])[],
  from: number,
  to: number,
): BufferGeometry {
  const g = new ExtrudeGeometry(shapeOf(outline, holes), {
    depth: Math.max(to - from, SMALL_M),
    bevelEnabled: false,
    steps: 1,
  });
  g.rotateX(-Math.PI / 2).translate(0, from, 0);
  return g;
}

/* A line with a thickness, from z to z. */
export function ribbon(line: readonly Vec2[], thickness_m: number, from: number, to: number): BufferGeometry[] {
  const wall = { line: [...line], thickness_m, base_m: 0, top_m: to - from, openings: [] } as unknown as DrawnWall;
  return legsOf([wall]).flatMap((leg) => wallSolid(leg, from) ?? []);
}

/* A floor to paint a field on: its outline without its holes, and where in the field each corner lies. */
export function painted(f: DrawnFloor, g: FieldGrid): BufferGeometry {
  const geometry = new ShapeGeometry(
    shapeOf(
      f.outline,
      f.holes.map((h) => h.outline),
    ),
  );
  const at = geometry.getAttribute('position');
  const uv = geometry.getAttribute('uv');
  for (let i = 0; i < at.count; i++)
    uv.setXY(i, (at.getX(i) - g.x_m) / (g.columns * g.step_m), (at.getY(i) - g.y_m) / (g.rows * g.step_m));
  return geometry.rotateX(-Math.PI / 2).translate(0, f.z_m + 0.012, 0);
}

/* A flat polygon anywhere, of points above the datum. */
export function sheet(outline: readonly Vec3[]): BufferGeometry | null {
  if (outline.length < 3) return null;
  /* seen along the axis in which it is largest */
  const area = (i: number, k: number): number =>
    Math.abs(
      outline.reduce((sum, p, n) => {
        const q = outline[(n + 1) % outline.length];
        return sum + p[i] * q[k] - q[i] * p[k];
      }, 0),
    );
  const PLANES: [number, number][] = [
    [0, 1],
    [0, 2],
    [1, 2],
  ];
  const [i, k] = PLANES.reduce((best, pair) => (area(...pair) > area(...best) ? pair : best));
  const flat = outline.map((p) => new Vector2(p[i], p[k]));
  const corners = ShapeUtils.triangulateShape(flat, []).flatMap((t) => t.flatMap((n) => toModel(outline[n])));
  return corners.length ? flatGeometry(corners) : null;
}

export const round = (outline: readonly Vec3[]): Vec3[] =>
  outline.flatMap((p, i) => [p, outline[(i + 1) % outline.length]]);
