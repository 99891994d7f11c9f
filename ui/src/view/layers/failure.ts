import { svg } from 'lit';
import type { Layer } from '../../draw/stage';
import { path } from '../../draw/shapes';

/* What a failure takes: dead things are crossed, what is cut off is ringed, cables that carry nothing any more are struck out. */
export const failure: Layer = (s) => {
  const f = s.house.failure;
  if (!f) return null;
  const states = new Map(f.lost.map((l) => [l.id, l.state]));
  const dead = new Set(f.cables_lost);
  return svg`<g class="failure">
    ${s.d.cables
      .filter((c) => dead.has(c.id))
      .map((c) =>
        c.stretches
          .filter((x) => s.apart || x.floor === s.floor.id)
          .map((x) => svg`<path class="cable-lost" d=${path(x.line.map((q) => s.toScreen(q, x.floor)))}></path>`),
      )}
    ${[...s.d.equipment, ...s.d.devices].map((t) => {
      const state = states.get(t.id);
      if (!state || ('has_place' in t && !t.has_place)) return null;
      const inside = 'inside' in t && t.inside;
      if (inside && state !== 'failed') return null; /* its cabinet would hold a heap of crosses */
      const stands = (inside && s.d.equipment.find((e) => e.id === inside)) || t;
      if (!stands.at || !s.shows(stands.floor)) return null;
      const [x, y] = s.toScreen(s.placeOf(stands) ?? stands.at, stands.floor);
      return state === 'cut_off'
        ? svg`<circle class="cut-off" cx=${x} cy=${y} r="9"></circle>`
        : svg`<path class=${state === 'failed' ? 'dead is-cause' : 'dead'} d=${`M${x - 7} ${y - 7}l14 14m0 -14l-14 14`}></path>`;
    })}</g>`;
};
