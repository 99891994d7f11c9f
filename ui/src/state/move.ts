import type { DrawnSpot, Edit, Json, Vec2 } from '../api/types';
import { inside } from '../draw/shapes';
import type { House } from './house';
import { pointer } from './pointer';

const rounded = (v: number): number => Math.round(v * 100) / 100;

const WHAT: Record<string, string> = { mounts: 'mount ', neighbours: 'neighbour ', line: 'the line’s entry' };

/* What has to be written so that a thing stands elsewhere: its place, and its room if it came into another.  A thing on a mount moves
   its mount. */
export function moveEdits(
  house: House,
  thing: DrawnSpot & { mount?: string },
  to: Vec2,
): { what: string; edits: Edit[] } {
  const [, section, id] = thing.path.split('/');
  const moved = thing.mount ? { section: 'mounts', id: thing.mount } : { section, id };
  const path = thing.mount ? pointer(moved.section, moved.id) : thing.path;
  const entry = house.value(path) as { [key: string]: Json } | undefined;
  const edits: Edit[] = [];
  const old = Array.isArray(entry?.at_m) ? (entry?.at_m as number[]) : null;
  const z = old?.[2] ?? 1;
  edits.push({
    op: old ? 'set' : 'add',
    path: `${path}/at_m`,
    value: [rounded(to[0]), rounded(to[1]), z],
  });
  const room = house.drawing?.rooms.find((r) => r.floor === thing.floor && inside(r.outline, to));
  if (room && typeof entry?.room === 'string' && entry.room !== room.id)
    edits.push({ op: 'set', path: `${path}/room`, value: room.id });
  return { what: `${WHAT[moved.section] ?? ''}${moved.id ?? ''} moved`, edits };
}
