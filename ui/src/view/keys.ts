import type { Problem } from '../api/client';

/* Which of the form's fields a problem belongs to, as the form names them ('openings-0-at_m'); '' none.  What is missing belongs to the
   field where it would be said. */
export function keyOf(p: Problem, own: string): string {
  const path = p.path ?? '';
  if (path !== own && !path.startsWith(`${own}/`)) return '';
  const missing = /the key '([A-Za-z0-9_]+)' is missing/.exec(p.says);
  return [...path.slice(own.length).split('/').slice(1), ...(missing ? [missing[1]] : [])].join('-');
}
