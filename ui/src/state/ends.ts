import type { Dict, Json } from '../api/types';
import { words } from '../units';
import { asText } from './pointer';

/* Who talks with whom: ends as a statement or promise writes them, and as the house calls them. */

export interface End {
  value: string; /* as it is written */
  name: string;
  kind: string; /* '': of every house */
}

const OF_EVERY_HOUSE: Readonly<Record<string, string>> = {
  anyone: 'anyone',
  internet: 'the internet',
  gateway: 'the gateway',
};
const KINDS: readonly { section: string; kind: string }[] = [
  { section: 'segments', kind: 'segment' },
  { section: 'groups', kind: 'group' },
  { section: 'people', kind: 'person' },
  { section: 'devices', kind: 'device' },
];

const isDict = (v: Json | undefined): v is Dict => !!v && typeof v === 'object' && !Array.isArray(v);

/* All that the house has, each once; a segment with its kind before it, as is any name that two things have. */
export function endsOf(house: Dict): End[] {
  const all = KINDS.flatMap(({ section, kind }) => {
    const things = house[section];
    return isDict(things) ? Object.keys(things).map((id) => ({ id, kind, called: calledBy(things[id], id) })) : [];
  });
  const isTwice = (id: string): boolean => all.filter((e) => e.id === id).length > 1;
  const isMixedUp = (called: string): boolean => all.filter((e) => e.called === called).length > 1;
  return [
    ...Object.entries(OF_EVERY_HOUSE).map(([value, name]) => ({ value, name, kind: '' })),
    ...all.map(({ id, kind, called }) => ({
      value: kind === 'segment' || isTwice(id) ? `${kind}:${id}` : id,
      name: isMixedUp(called) ? `${called} (${kind})` : called,
      kind,
    })),
  ];
}

const calledBy = (thing: Json, id: string): string => (isDict(thing) && asText(thing.says)) || words(id);

/* The end that a value means, however it is written; what is none, as an address, is called as it is written. */
export function endOf(all: readonly End[], value: string): End {
  const id = (e: End): string => e.value.replace(/^[a-z]+:/, '');
  return (
    all.find((e) => e.value === value) ??
    all.find((e) => e.kind && (id(e) === value || `${e.kind}:${id(e)}` === value)) ?? { value, name: value, kind: '' }
  );
}
