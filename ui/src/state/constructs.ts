import { getJson, Refused } from '../api/client';
import type { Construct } from '../api/types';
import type { House } from './house';

/* What walls and the like can be made of; asked once for each house and revision of its own constructs. */

interface Constructs {
  list: Construct[];
}

const known = new WeakMap<House, { of: string; made: Constructs }>();

export function constructs(house: House, then: () => void): Constructs {
  const of = JSON.stringify(house.data.constructs ?? null);
  const before = known.get(house);
  if (before?.of === of) return before.made;
  const made: Constructs = { list: [] };
  known.set(house, { of, made });
  getJson<{ constructs: Construct[] }>(`${house.path}/constructs`).then(
    (a) => {
      made.list = a.body.constructs;
      then();
    },
    (e: unknown) => {
      if (!(e instanceof Refused)) throw e;
      known.delete(house); /* a house that cannot be read: asked again later */
    },
  );
  return made;
}
