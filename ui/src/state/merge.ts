import type { Dict, Json } from '../api/types';
import { pointer } from './pointer';

/* Two changes of one thing, made on the same state of it: put together where they touch different members. */

export interface Merged {
  value: Json | undefined; /* where both changed the same, mine */
  both: string[]; /* pointers of what both changed, differently */
  theirs: string[]; /* pointers of what only they changed */
}

export const same = (a: Json | undefined, b: Json | undefined): boolean =>
  a === b || (a !== undefined && b !== undefined && JSON.stringify(a) === JSON.stringify(b));

const isDict = (v: Json | undefined): v is Dict => v !== null && typeof v === 'object' && !Array.isArray(v);

export function merge(
  was: Json | undefined,
  mine: Json | undefined,
  theirs: Json | undefined,
  path = '',
  into: Merged = { value: undefined, both: [], theirs: [] },
): Merged {
  if (same(was, theirs) || same(mine, theirs)) return { ...into, value: mine };
  if (same(was, mine)) {
    into.theirs.push(path);
    return { ...into, value: theirs };
  }
  if (!isDict(mine) || !isDict(theirs) || !(was === undefined || isDict(was))) {
    into.both.push(path);
    return { ...into, value: mine };
  }
  const value: Dict = {};
  for (const key of new Set([...Object.keys(mine), ...Object.keys(theirs)])) {
    const of = merge(was?.[key], mine[key], theirs[key], path + pointer(key), into).value;
    if (of !== undefined) value[key] = of;
  }
  return { ...into, value };
}
