import { svg } from 'lit';
import { northArrow, scaleBar } from '../../draw/plan';
import type { Layer } from '../../draw/stage';
import { settings } from '../../state/settings';
import { perMetre } from '../../units';

/* The plan's scale and where north is; on a telephone above the buttons, as the tool's words need the upper edge. */
export const margin: Layer = (s) => {
  if (s.apart) return null;
  const per = s.w.scale / perMetre(settings.unit);
  return svg`${scaleBar(per, settings.unit, 34, s.size.h - 66)}
    ${s.d.north_deg === null ? null : northArrow(s.d.north_deg, s.size.w - 34, s.wide ? 40 : s.size.h - 178)}`;
};
