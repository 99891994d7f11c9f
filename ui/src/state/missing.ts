import type { House, Look } from './house';

/* What a house still lacks before promises can be judged: one thing at a time, and where it is said. */

export interface Missing {
  says: string;
  link: string;
  look: Partial<Look>;
}

const draw = (tool: string): Partial<Look> => ({ side: 'change', view: 'plan', section: '', item: '', tool });

export function missing(house: House): Missing | null {
  const { drawing: d, model } = house;
  if (!model?.can_be_read || !d) return null;
  const none = (section: string): boolean => !Object.keys(house.section(section)).length;
  if (none('walls')) return { says: 'Signal is stopped by walls:', link: 'draw the outer walls', look: draw('wall') };
  if (none('rooms')) return { says: 'Promises are made for rooms:', link: 'name the rooms', look: draw('room') };
  if (!house.data.parts_file)
    return {
      says: 'Nothing can be placed that is in no list of parts:',
      link: 'say which parts file it is',
      look: { side: 'change', section: 'house', item: '' },
    };
  if (!d.equipment.some((e) => e.kind === 'access_point' || e.radios.length))
    return { says: 'Nothing sends yet:', link: 'put an access point on the plan', look: draw('equipment') };
  if (none('promises'))
    return {
      says: 'Nothing was promised yet:',
      link: 'choose the usual promises, or write one',
      look: { side: 'change', section: 'promises', item: '' },
    };
  if (none('devices'))
    return { says: 'Nobody listens yet:', link: 'put the devices on the plan', look: draw('device') };
  if (!house.data.line)
    return { says: 'The internet comes from nowhere yet:', link: 'say where the line enters', look: draw('line') };
  return null;
}
