import type { House } from './house';
import type { Look } from './look';

/* What a house still lacks before promises can be judged, and where it is said. */

export interface Missing {
  section: string; /* where it would be said */
  says: string;
  link: string;
  look: Partial<Look>;
}

const draw = (tool: string): Partial<Look> => ({ side: 'change', view: 'plan', section: '', item: '', tool });

/* Everything it lacks, in the order one works through it; null: that cannot be told, as nothing could be read. */
export function allMissing(house: House): Missing[] | null {
  const { drawing: d, model } = house;
  if (!model?.can_be_read || !d) return null;
  const none = (section: string): boolean => !Object.keys(house.section(section)).length;
  const out: Missing[] = [];
  const lacks = (is: boolean, section: string, says: string, link: string, look: Partial<Look>): void => {
    if (is) out.push({ section, says, link, look });
  };
  const form = (section: string): Partial<Look> => ({ side: 'change', section, item: '', tool: '' });
  lacks(none('floors'), 'floors', 'A house stands on a floor:', 'add the lowest one', form('floors'));
  if (out.length) return out; /* nothing can be drawn without */
  lacks(none('walls'), 'walls', 'Signal is stopped by walls:', 'draw the outer walls', draw('wall'));
  lacks(none('rooms'), 'rooms', 'Promises are made for rooms:', 'name the rooms', draw('room'));
  const parts = !house.data.parts_file;
  lacks(
    parts,
    'house',
    'Nothing can be placed that is in no list of parts:',
    'say which parts file it is',
    form('house'),
  );
  const sends = d.equipment.some((e) => e.kind === 'access_point' || e.radios.length);
  lacks(!sends, 'equipment', 'Nothing sends yet:', 'put an access point on the plan', draw('equipment'));
  lacks(
    none('promises'),
    'promises',
    'Nothing was promised yet:',
    'choose the usual promises, or write one',
    form('promises'),
  );
  lacks(none('devices'), 'devices', 'Nobody listens yet:', 'put the devices on the plan', draw('device'));
  lacks(!house.data.line, 'line', 'The internet comes from nowhere yet:', 'say where the line enters', draw('line'));
  return out;
}

export const missing = (house: House): Missing | null => allMissing(house)?.[0] ?? null;
