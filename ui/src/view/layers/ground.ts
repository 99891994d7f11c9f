import { drawGround } from '../../draw/plan';
import type { Layer } from '../../draw/stage';

/* What the plan stands on; floors apart draws it with each floor. */
export const ground: Layer = (s) => (s.apart ? null : drawGround(s.floor, s.w));
