import { svg } from 'lit';
import type { DrawnFloor, PromiseResult, Vec3 } from '../../api/types';
import { note, wrap } from '../../draw/shapes';
import { isWide, type Layer, type Size } from '../../draw/stage';
import type { House } from '../../state/house';
import { number } from '../../units';

/* The evidence of the chosen promise, where it lies. */

export interface Witness {
  floor: string;
  at: Vec3;
}

/* The worst spot of the chosen promise, if it is on what is shown: a floor's plan, or (null) all floors. */
export function witness(house: House, floor: DrawnFloor | null): Witness | null {
  const worst = house.chosen?.evidence.worst_spot as { floor: string; at_m: Vec3 } | undefined;
  if (!worst?.at_m || (floor && worst.floor !== floor.id)) return null;
  const z = house.drawing?.floors.find((x) => x.id === worst.floor)?.z_m ?? 0;
  return { floor: worst.floor, at: [worst.at_m[0], worst.at_m[1], worst.at_m[2] + z] };
}

/* The words of the note: by how much, and why. */
export function said(chosen: PromiseResult): { head: string; lines: string[] } {
  const margin = chosen.margin === null ? '' : `${number(chosen.margin)} ${chosen.unit}`;
  const head = chosen.state === 'broken' ? `short by ${margin.replace('−', '')}` : `in hand: ${margin}`;
  return { head, lines: wrap(chosen.reason, 38, 7) };
}

/* Words stand beside the house, where there is room for them. */
export const isNoted = (house: House, floor: DrawnFloor | null, size: Size): boolean =>
  isWide(size) && witness(house, floor) !== null;

export const evidence: Layer = (s) => {
  const spot = witness(s.house, s.apart ? null : s.floor);
  const chosen = s.house.chosen;
  if (!spot || !chosen) return null;
  const at = s.toScreen(spot.at, spot.floor);
  const broken = chosen.state === 'broken';
  if (!s.wide)
    return svg`<g class=${broken ? 'note is-broken' : 'note'}>
      <circle class="spot" cx=${at[0]} cy=${at[1]} r="7"></circle></g>`;
  const x = Math.min(Math.max(at[0] + 90, s.size.w - 268), s.size.w - 240);
  const y = Math.min(Math.max(at[1] - 40, 60), s.size.h - 190);
  const { head, lines } = said(chosen);
  return note(at, [x, y], head, lines, broken);
};
