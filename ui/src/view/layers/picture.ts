import { svg } from 'lit';
import { matrixOf } from '../../draw/placing';
import type { Layer } from '../../draw/stage';

/* Pictures of the floor's plan, under its walls, while the house is changed. */
export const picture: Layer = (s) => {
  if (s.apart || s.house.look.side !== 'change') return null;
  const { pictures } = s.house;
  if (s.house.look.tool) pictures.on(s.floor.id).forEach((p) => pictures.raster(p));
  return svg`<g class="plan-pictures">${pictures.on(s.floor.id).map(
    (p) =>
      svg`<image class="plan-picture" href=${pictures.address(p)} width=${p.width_px} height=${p.height_px}
          preserveAspectRatio="none" opacity=${p.opacity} transform=${matrixOf(pictures.placing(p, s.floor), s.w)}></image>`,
  )}</g>`;
};
