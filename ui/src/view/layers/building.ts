import { drawApart } from '../../draw/apart';
import { drawPlan } from '../../draw/plan';
import type { Axonometry } from '../../draw/projection';
import type { Layer } from '../../draw/stage';

/* Floors, rooms with their field, walls and cables. */
export const building: Layer = ({ house, d, floor, w, apart, wide, names, projection }) =>
  apart
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
