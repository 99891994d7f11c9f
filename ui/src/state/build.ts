import type { Dict, Edit, Json } from '../api/types';
import type { House } from './house';
import { pointer } from './pointer';

/* What is written when something new is drawn. */

/* Things of a section, each with its name; the section is begun if it is not there. */
export function addTo(house: House, section: string, things: readonly (readonly [string, Dict])[]): Edit[] {
  const present = house.data[section];
  if (present === undefined || present === null)
    return [
      { op: present === undefined ? 'add' : 'set', path: pointer(section), value: Object.fromEntries(things) as Json },
    ];
  return things.map(([id, value]) => ({ op: 'add', path: pointer(section, id), value }));
}

/* One more of a thing's list. */
export function addToList(house: House, path: string, value: Json): Edit {
  const present = house.value(path);
  if (present === undefined || present === null)
    return { op: present === undefined ? 'add' : 'set', path, value: [value] };
  return { op: 'add', path: `${path}/-`, value };
}

/* A short name as the file wants it, from what people call it. */
export const nameOf = (title: string): string =>
  title
    .normalize('NFD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^[^a-z]+|_+$/g, '')
    .slice(0, 48);

/* Names that the section has not got yet. */
export function freshIds(house: House, section: string, stem: string, many = 1): string[] {
  const taken = new Set(Object.keys(house.section(section)));
  const out: string[] = [];
  if (many === 1 && !/_$/.test(stem) && !taken.has(stem)) return [stem];
  const base = stem.replace(/_$/, '');
  for (let i = /_$/.test(stem) ? 1 : 2; out.length < many; i++)
    if (!taken.has(`${base}_${i}`)) out.push(`${base}_${i}`);
  return out;
}
