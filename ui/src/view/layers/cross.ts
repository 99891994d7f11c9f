import { svg } from 'lit';
import type { Layer } from '../../draw/stage';

/* The cross that the arrow keys move over the plan. */
export const cross: Layer = (s) => {
  if (s.apart || !s.cross) return null;
  const [x, y] = s.onPlan(s.cross);
  return svg`<path class="cross"
    d=${`M${x - 12} ${y}H${x - 3}M${x + 3} ${y}H${x + 12}M${x} ${y - 12}V${y - 3}M${x} ${y + 3}V${y + 12}`}></path>`;
};
