import type { House } from '../state/house';
import { length, number, words } from '../units';
import { settings } from '../state/settings';

/* The model in words, for those who do not see it. */

const list = (all: string[]): string =>
  all.length < 2 ? (all[0] ?? '') : `${all.slice(0, -1).join(', ')} and ${all[all.length - 1]}`;

export function describe(house: House, hidden: ReadonlySet<string>): string {
  const d = house.drawing;
  if (!d) return '';
  const shown = d.floors.filter((f) => !hidden.has(f.id));
  const floors = shown.map((f) => {
    const rooms = d.rooms.filter((r) => r.floor === f.id).map((r) => r.name);
    const things = d.equipment
      .filter((e) => e.floor === f.id && !e.inside && e.at)
      .map((e) => {
        const room = d.rooms.find((r) => r.id === e.room)?.name;
        const high = (e.at?.[2] ?? 0) - f.z_m;
        return `${words(e.id)}${room ? ` in ${room}` : ''}, ${length(high, settings.unit, 1)} up`;
      });
    return `${f.name}: ${rooms.length ? list(rooms) : 'no rooms'}${things.length ? `; ${list(things)}` : ''}.`;
  });
  const worst = house.chosen?.evidence.worst_spot as { where?: string } | undefined;
  const spot = house.report?.access_points[0];
  return [
    ...floors,
    hidden.size ? `Left out: ${list(d.floors.filter((f) => hidden.has(f.id)).map((f) => f.name))}.` : '',
    worst?.where ? `Marked: the worst spot of the chosen promise, ${worst.where}.` : '',
    spot
      ? `Asked: ${house.report?.spot.where}, where ${words(spot.id)} is heard at ${number(spot.level_dbm, 0)} dBm.`
      : '',
    'The plan tells the same, and can be walked with the arrow keys.',
  ]
    .filter(Boolean)
    .join(' ');
}
