import { svg } from 'lit';
import type { Vec3 } from '../../api/types';
import { path } from '../../draw/shapes';
import type { Layer } from '../../draw/stage';

/* The paths of signal to the spot that was asked about. */
export const rays: Layer = (s) => {
  const spot = s.house.spot;
  if (!spot || !s.shows(spot.floor)) return null;
  const z = (s.floorOf(spot.floor)?.z_m ?? 0) + 1.2;
  const end = s.toScreen([spot.at[0], spot.at[1], z], spot.floor);
  const first = s.house.report?.access_points ?? [];
  return svg`<g class="rays">
    ${first.slice(0, 4).map((heard, i) => {
      const from = s.d.equipment.find((e) => e.id === heard.id);
      if (!from?.at) return null;
      const start = s.toScreen(from.at, s.apart ? from.floor : spot.floor);
      const drawn = heard.paths.filter((r) => r.points?.length);
      return drawn.length
        ? drawn.map(
            (r, k) =>
              svg`<path class=${i || k ? 'ray' : 'ray is-best'}
                d=${path((r.points as Vec3[]).map((q) => s.toScreen(q, spot.floor)))}></path>`,
          )
        : svg`<path class=${i ? 'ray' : 'ray is-best'} d=${path([start, end])}></path>`;
    })}
    <circle class="asked-spot" cx=${end[0]} cy=${end[1]} r="6"></circle>
    <circle class="asked-spot-dot" cx=${end[0]} cy=${end[1]} r="1.5"></circle></g>`;
};
