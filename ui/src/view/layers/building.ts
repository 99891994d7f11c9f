import { drawApart } from '../../draw/apart';
import { drawPlan } from '../../draw/plan';
import type { Axonometry } from '../../draw/projection';
import type { Layer } from '../../draw/stage';

/* Floors, rooms with their field, walls and cables. */
export const building: Layer = (s) => {
  const { house, d, floor, w, apart, wide, names, projection } = s;
  if (!apart && house.look.side === 'change')
    /* where words of the rooms keep clear of them */
    for (const n of d.neighbours) if (n.at && n.floor === floor.id) names.keep(s.onPlan([n.at[0], n.at[1]]), 9);
  return apart
    ? drawApart({
        d,
        a: projection as Axonometry,
        w,
        fields: house.fields,
        chosen: house.chosenPath,
        size: wide ? 18 : 13,
        names,
      })
    : drawPlan({
        d,
        floor,
        w,
        field: house.fields.get(floor.id) ?? null,
        contours: house.contours.get(floor.id) ?? [],
        chosen: house.chosenPath,
        names,
      });
};
