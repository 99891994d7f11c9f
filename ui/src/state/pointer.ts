import type { Json } from '../api/types';

/* JSON pointers (RFC 6901): how edits name a place in the house. */
export const pointer = (...steps: (string | number)[]): string =>
  steps.map((s) => '/' + String(s).replace(/~/g, '~0').replace(/\//g, '~1')).join('');

export function at(root: Json, path: string): Json | undefined {
  let here: Json | undefined = root;
  for (const step of path.split('/').slice(1)) {
    const key = step.replace(/~1/g, '/').replace(/~0/g, '~');
    if (Array.isArray(here)) here = here[Number(key)];
    else if (here && typeof here === 'object') here = here[key];
    else return undefined;
  }
  return here;
}

export const asText = (v: Json | undefined): string => (v === null || v === undefined ? '' : String(v));
export const asList = (v: Json | undefined): Json[] =>
  Array.isArray(v) ? v : v === null || v === undefined ? [] : [v];
export const asNumber = (v: Json | undefined): number | null => (typeof v === 'number' ? v : null);
