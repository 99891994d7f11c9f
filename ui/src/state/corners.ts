import type { Dict, Edit, Json, Vec2 } from '../api/types';
import { distance, nearestOn, tidyNumber } from '../draw/snap';
import type { House } from './house';
import { pointer } from './pointer';

/* Corners as the file writes them, to be moved: each is an item of a list of points. */

export interface Corner {
  list: string; /* pointer of the list it stands in */
  index: number;
  at: Vec2;
  rest: number[]; /* a height, where there is one */
  share?: number; /* of how far the others move; left out: all of it */
}

const SAME_M = 0.01;
/* Which of its members says where a thing of a section lies. */
const LISTS: Record<string, string[]> = {
  walls: ['line'],
  rooms: ['outline'],
  floors: ['outline'],
  obstacles: ['outline', 'line'],
  planes: ['outline'],
  runs: ['outline', 'line'],
};
/* Those whose corners hang together. */
const JOINED = ['walls', 'rooms', 'floors'];

export const isShaped = (section: string): boolean => section in LISTS;

function readPoints(v: Json | undefined, list: string): Corner[] {
  if (!Array.isArray(v)) return [];
  return v.flatMap((p, index): Corner[] =>
    Array.isArray(p) && p.length >= 2 && p.every((x) => typeof x === 'number')
      ? [{ list, index, at: [p[0] as number, p[1] as number], rest: p.slice(2) as number[] }]
      : [],
  );
}

/* A floor's are those of its outline and of its holes. */
export function cornersOf(house: House, section: string, id: string): Corner[] {
  if (section === 'floors') {
    const holes = house.value(pointer(section, id, 'holes'));
    return [
      pointer(section, id, 'outline'),
      ...(Array.isArray(holes) ? holes : []).map((_, i) => pointer(section, id, 'holes', i, 'outline')),
    ].flatMap((list) => readPoints(house.value(list), list));
  }
  for (const key of LISTS[section] ?? []) {
    const list = pointer(section, id, key);
    const found = readPoints(house.value(list), list);
    if (found.length) return found;
  }
  return [];
}

/* Is the list's last point joined to its first? */
export const isClosed = (list: string): boolean => list.endsWith('/outline');

/* Corners of the floor that hang together: ends of walls, corners of rooms and of the floor itself. */
function joined(house: House, floor: string): Corner[] {
  return JOINED.flatMap((s) =>
    Object.entries(house.section(s))
      .filter(([id, v]) => (s === 'floors' ? id === floor : (v as Dict | null)?.floor === floor))
      .flatMap(([id]) => cornersOf(house, s, id))
      .filter((c) => !isOfHole(c)),
  );
}

/* A hole lies in its floor, and nothing hangs on its corners. */
const isOfHole = (c: Corner): boolean => c.list.includes('/holes/');

const sameCorner = (a: Corner, b: Corner): boolean => a.list === b.list && a.index === b.index;

/* What moves with these corners of one thing: all others at their places, and those that lie on a stretch of a wall that moves with
   them, by as much as the stretch does there. */
export function pulled(house: House, floor: string, own: readonly Corner[]): Corner[] {
  if (!own.length || !JOINED.includes(own[0].list.split('/')[1]) || isOfHole(own[0])) return [...own];
  const all = joined(house, floor);
  const out: Corner[] = [];
  const take = (c: Corner, share: number): void => {
    if (!out.some((o) => sameCorner(o, c))) out.push({ ...c, share });
  };
  for (const c of own) all.filter((k) => distance(k.at, c.at) <= SAME_M).forEach((k) => take(k, 1));
  for (const end of out.filter((c) => c.list.endsWith('/line'))) {
    const line = all.filter((k) => k.list === end.list);
    for (const other of [line[end.index - 1], line[end.index + 1]]) {
      if (!other) continue;
      const both = out.some((o) => sameCorner(o, other) && o.share === 1);
      const far = distance(other.at, end.at);
      for (const k of all) {
        const on = nearestOn(other.at, end.at, k.at);
        if (on.away <= SAME_M && on.along > SAME_M && on.along < far - SAME_M && k.list !== end.list)
          take(k, both ? 1 : on.along / far);
      }
    }
  }
  return out;
}

const movedBy = (c: Corner, by: Vec2): Vec2 => [
  tidyNumber(c.at[0] + by[0] * (c.share ?? 1)),
  tidyNumber(c.at[1] + by[1] * (c.share ?? 1)),
];

export const cornerEdits = (corners: readonly Corner[], by: Vec2): Edit[] =>
  corners.map((c) => {
    const [x, y] = movedBy(c, by);
    return { op: 'set', path: `${c.list}/${c.index}`, value: [x, y, ...c.rest] };
  });

/* Openings are measured from their wall's first point.  Where that moves along the wall, they stay where they are. */
export function openingEdits(house: House, corners: readonly Corner[], by: Vec2): Edit[] {
  return corners.flatMap((first): Edit[] => {
    if (first.index !== 0 || !/^\/walls\/[^/]+\/line$/.test(first.list)) return [];
    const wall = first.list.replace(/\/line$/, '');
    const openings = house.value(`${wall}/openings`);
    const second = readPoints(house.value(first.list), first.list)[1];
    if (!Array.isArray(openings) || !second) return [];
    const moved = corners.find((c) => sameCorner(c, second));
    const [a, b] = [movedBy(first, by), moved ? movedBy(moved, by) : second.at];
    const [was, is] = [
      [second.at[0] - first.at[0], second.at[1] - first.at[1]],
      [b[0] - a[0], b[1] - a[1]],
    ];
    const [long, longer] = [Math.hypot(...was), Math.hypot(...is)];
    const straight = Math.abs(was[0] * is[1] - was[1] * is[0]) < 0.001 * long * longer;
    if (moved || !straight || Math.abs(longer - long) < 0.0005) return [];
    return openings.map((o, i) => ({
      op: 'set',
      path: `${wall}/openings/${i}/at_m`,
      value: tidyNumber(Number((o as Dict).at_m) + longer - long),
    }));
  });
}

/* The lists that have one of these corners, as they would lie. */
export function movedLines(house: House, corners: readonly Corner[], by: Vec2): { line: Vec2[]; closed: boolean }[] {
  return [...new Set(corners.map((c) => c.list))].map((list) => ({
    closed: isClosed(list),
    line: readPoints(house.value(list), list).map((c) => {
      const moved = corners.find((m) => sameCorner(m, c));
      return moved ? movedBy(moved, by) : c.at;
    }),
  }));
}

/* A wall in two, at a place along it; its openings stay where they are. */
export function splitWall(house: House, id: string, second: string, along: number): Edit[] | string {
  const wall = house.section('walls')[id] as Dict;
  const path = pointer('walls', id);
  const line = cornersOf(house, 'walls', id).map((c) => c.at);
  const first: Vec2[] = [line[0]];
  const rest: Vec2[] = [];
  let walked = 0;
  for (let i = 0; i + 1 < line.length; i++) {
    const [a, b] = [line[i], line[i + 1]];
    const long = distance(a, b);
    if (!rest.length && along < walked + long) {
      const t = (along - walked) / long;
      const cut: Vec2 = [tidyNumber(a[0] + (b[0] - a[0]) * t), tidyNumber(a[1] + (b[1] - a[1]) * t)];
      first.push(cut);
      rest.push(cut);
    }
    (rest.length ? rest : first).push(b);
    walked += long;
  }
  const here: Dict[] = [];
  const there: Dict[] = [];
  for (const o of (Array.isArray(wall.openings) ? wall.openings : []) as Dict[]) {
    const [from, wide] = [Number(o.at_m), Number(o.width_m)];
    if (from + wide <= along + 1e-9) here.push(o);
    else if (from >= along - 1e-9) there.push({ ...o, at_m: tidyNumber(from - along) });
    else return 'A door or window is there: choose a place beside it';
  }
  const copy: Dict = { ...wall, line: rest };
  delete copy.openings;
  if (there.length) copy.openings = there;
  const edits: Edit[] = [{ op: 'set', path: `${path}/line`, value: first }];
  if (there.length)
    edits.push(
      here.length ? { op: 'set', path: `${path}/openings`, value: here } : { op: 'remove', path: `${path}/openings` },
    );
  edits.push({ op: 'add', path: pointer('walls', second), value: copy });
  return edits;
}
