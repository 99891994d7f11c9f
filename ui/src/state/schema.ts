import { getJson } from '../api/client';
import type { Dict, Edit, Json } from '../api/types';
import { pointer } from './pointer';

/* The program's JSON Schema of a house file: what the forms are made of. */

export interface Schema {
  description?: string;
  type?: string | string[];
  enum?: Json[];
  default?: Json;
  properties?: Record<string, Schema>;
  patternProperties?: Record<string, Schema>;
  items?: Schema;
  anyOf?: Schema[];
  required?: string[];
  minimum?: number;
  maximum?: number;
  minItems?: number;
  maxItems?: number;
  pattern?: string;
  allOf?: {
    if?: { properties?: { kind?: { const?: Json } } };
    then?: { required?: string[]; properties?: Record<string, Schema | false> };
  }[];
}

const asked = new Map<string, Promise<Schema>>();

function ask(path: string): Promise<Schema> {
  const known = asked.get(path);
  if (known) return known;
  const asking = getJson<Schema>(path).then((a) => a.body);
  asked.set(path, asking);
  asking.catch(() => asked.delete(path));
  return asking;
}

export const schema = (): Promise<Schema> => ask('/api/schema');

/* What one part may say. */
export const partSchema = async (): Promise<Schema> => itemOf((await ask('/api/schema/parts')).properties?.parts) ?? {};

const hasType = (s: Schema, type: string): boolean => (Array.isArray(s.type) ? s.type.includes(type) : s.type === type);

export type Shape =
  'choice' | 'yes_no' | 'number' | 'text' | 'list' | 'choices' | 'points' | 'object' | 'objects' | 'free';

/* A value that may be one or a list is shown as the list it may be.  (Where there is a type, `anyOf` says what of it must be given.) */
export function plain(s: Schema): Schema {
  if (!s.anyOf || s.type) return s;
  const list = s.anyOf.find((x) => hasType(x, 'array'));
  const object = s.anyOf.find((x) => hasType(x, 'object'));
  return { ...(list ?? object ?? s.anyOf[0]), description: s.description };
}

export function shapeOf(given: Schema): Shape {
  const s = plain(given);
  if (s.enum) return 'choice';
  if (hasType(s, 'array')) {
    const item = plain(s.items ?? {});
    if (item.enum) return 'choices';
    if (hasType(item, 'array') || hasType(item, 'number')) return 'points';
    if (hasType(item, 'object')) return s.items?.anyOf ? 'free' : 'objects';
    return 'list';
  }
  if (hasType(s, 'object')) return 'object';
  if (hasType(s, 'string')) return 'text';
  if (hasType(s, 'number') || hasType(s, 'integer')) return 'number';
  if (hasType(s, 'boolean')) return 'yes_no';
  return 'free';
}

export function itemOf(s: Schema | undefined): Schema | undefined {
  if (!s) return undefined;
  if (s.patternProperties) return Object.values(s.patternProperties)[0];
  const p = plain(s);
  return hasType(p, 'array') ? p.items : p;
}

/* The members an item may have, those it must have, given its kind. */
export function membersOf(s: Schema, value: Dict): { key: string; schema: Schema; must: boolean }[] {
  const must = new Set(s.required ?? []);
  const no = new Set<string>();
  for (const rule of s.allOf ?? []) {
    if (rule.if?.properties?.kind?.const !== value.kind) continue;
    for (const r of rule.then?.required ?? []) must.add(r);
    for (const [k, v] of Object.entries(rule.then?.properties ?? {})) if (v === false) no.add(k);
  }
  return Object.entries(s.properties ?? {})
    .filter(([key]) => !no.has(key) || key in value)
    .map(([key, schema]) => ({ key, schema, must: must.has(key) }));
}

const same = (a: Json | undefined, b: Json | undefined): boolean => JSON.stringify(a) === JSON.stringify(b);
export const isDict = (v: Json | undefined): v is Dict => v !== null && typeof v === 'object' && !Array.isArray(v);

/* The least that has to be written so that `was` becomes `is`. */
export function differences(was: Json | undefined, is: Json | undefined, path: string): Edit[] {
  if (same(was, is)) return [];
  if (is === undefined) return [{ op: 'remove', path }];
  if (was === undefined) return [{ op: 'add', path, value: is }];
  if (isDict(was) && isDict(is)) {
    const out: Edit[] = [];
    for (const key of Object.keys(is)) out.push(...differences(was[key], is[key], path + pointer(key)));
    for (const key of Object.keys(was)) if (!(key in is)) out.push({ op: 'remove', path: path + pointer(key) });
    return out;
  }
  if (Array.isArray(was) && Array.isArray(is) && was.length === is.length)
    return is.flatMap((x, i) => differences(was[i], x, path + pointer(i)));
  return [{ op: 'set', path, value: is }];
}
