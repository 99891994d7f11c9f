import type { Dict, Json } from '../api/types';
import { builtInConstructs, deviceKinds } from './words';

/* The parts of a house file, in the order one works through them: what no house can be judged without, and what can be added. */
export const NEEDED: readonly string[] = [
  'house',
  'floors',
  'walls',
  'rooms',
  'equipment',
  'promises',
  'devices',
  'line',
];

export const ADDED: readonly { head: string; sections: string[] }[] = [
  { head: 'More of the building', sections: ['planes', 'obstacles', 'constructs'] },
  { head: 'Places and cable', sections: ['mounts', 'runs', 'cables'] },
  { head: 'Networks', sections: ['segments', 'ssids', 'foreign_ranges', 'interfaces'] },
  {
    head: 'Who may talk, and when',
    sections: ['statements', 'hours', 'services', 'relays', 'port_openings', 'remote_access'],
  },
  { head: 'People, and what their things do', sections: ['people', 'groups', 'profiles'] },
  { head: 'The air around', sections: ['neighbours', 'mesh'] },
  { head: 'Batteries and pictures', sections: ['batteries', 'recordings'] },
  { head: 'Money and growth', sections: ['parts', 'phases', 'budget', 'growth'] },
];

/* Which section a member names things of; more than one: any of them. */
const REFERENCES: Record<string, string[]> = {
  floor: ['floors'],
  floors: ['floors'],
  room: ['rooms'],
  rooms: ['rooms'],
  construct: ['constructs'],
  slab: ['constructs'],
  ceiling: ['constructs'],
  mount: ['mounts'],
  segment: ['segments'],
  untagged: ['segments'],
  tagged: ['segments'],
  owner: ['people'],
  people: ['people'],
  profile: ['profiles'],
  hours: ['hours'],
  device: ['devices'],
  devices: ['devices', 'groups'],
  recorder: ['devices'],
  cameras: ['devices'],
  members: ['devices', 'people'],
  recording: ['recordings'],
  promises: ['promises'],
  phase: ['phases'],
  inside: ['equipment'],
  equipment: ['equipment'],
  route: ['runs'],
  feeds: ['equipment', 'devices'],
};

const ENDPOINTS = ['segments', 'groups', 'devices', 'people'];

export function sectionsNamed(section: string, key: string): string[] {
  if (section === 'cables' && (key === 'from' || key === 'to')) return ['equipment', 'devices'];
  if (section === 'relays' && (key === 'from' || key === 'to')) return ['segments'];
  if (key === 'from' || key === 'to' || key === 'with') return ENDPOINTS;
  return REFERENCES[key] ?? [];
}

/* Does a member say who talks? */
export const isEnd = (section: string, key: string): boolean => sectionsNamed(section, key) === ENDPOINTS;

const keysOf = (v: Json | undefined): string[] =>
  v && typeof v === 'object' && !Array.isArray(v) ? Object.keys(v) : [];

/* Names that fit a member, to choose from. */
export function namesFor(house: Dict, section: string, key: string): string[] {
  if (key === 'device_kind' || (section === 'devices' && key === 'kind')) return deviceKinds();
  const sections = sectionsNamed(section, key);
  const names = sections.flatMap((s) => keysOf(house[s]));
  if (sections.includes('constructs')) names.push(...builtInConstructs().filter((c) => !names.includes(c)));
  if (sections === ENDPOINTS)
    names.unshift('anyone', 'internet', 'gateway', ...keysOf(house.segments).map((s) => `segment:${s}`));
  return names;
}

const SINGULAR: Record<string, string> = { segments: 'segment', groups: 'group', devices: 'device', people: 'person' };

/* Where in the house a thing is named: what has to change with its name. */
export function mentions(house: Dict, section: string, id: string): { path: (string | number)[]; value: string }[] {
  const out: { path: (string | number)[]; value: string }[] = [];
  const look = (v: Json, path: (string | number)[], inSection: string, key: string): void => {
    if (Array.isArray(v)) v.forEach((x, i) => look(x, [...path, i], inSection, key));
    else if (v && typeof v === 'object') for (const [k, x] of Object.entries(v)) look(x, [...path, k], inSection, k);
    else if (typeof v === 'string' && sectionsNamed(inSection, key).includes(section)) {
      const port = inSection === 'cables' ? /^([^:]+)(:.+)$/.exec(v) : null;
      if (v === id) out.push({ path, value: v });
      else if (v === `${SINGULAR[section]}:${id}` || port?.[1] === id) out.push({ path, value: v });
    }
  };
  for (const [s, v] of Object.entries(house)) if (v && typeof v === 'object') look(v, [s], s, '');
  return out;
}

export const renamed = (section: string, value: string, from: string, to: string): string =>
  value === from ? to : value.startsWith(`${from}:`) ? to + value.slice(from.length) : `${SINGULAR[section]}:${to}`;
