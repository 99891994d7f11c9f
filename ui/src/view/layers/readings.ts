import { svg } from 'lit';
import type { Layer } from '../../draw/stage';
import { signed } from '../../units';

/* What was read on this floor, against what was expected: the difference in dB beside each spot. */
export const readings: Layer = (s) => {
  if (s.apart || (s.house.look.side !== 'install' && s.house.look.view !== 'readings')) return null;
  const here = (s.house.site.readings?.readings ?? []).filter((r) => r.floor === s.floor.id);
  return svg`<g class="readings">
    ${here.map((r) => {
      const [x, y] = s.onPlan([r.at_m[0], r.at_m[1]]);
      const word = r.difference_db === null ? 'read' : `${signed(r.difference_db, 0)} dB`;
      return svg`<g class=${r.promises.some((p) => !p.passed) ? 'reading-mark is-short' : 'reading-mark'}>
        <path d=${`M${x - 5} ${y - 5}L${x + 5} ${y + 5}M${x + 5} ${y - 5}L${x - 5} ${y + 5}`}></path>
        <text x=${x + 9} y=${y + 4}>${word}</text></g>`;
    })}</g>`;
};
