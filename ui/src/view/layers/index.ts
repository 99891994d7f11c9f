import type { Layer } from '../../draw/stage';
import { building } from './building';
import { cross } from './cross';
import { evidence } from './evidence';
import { failure } from './failure';
import { ground } from './ground';
import { margin } from './margin';
import { picture } from './picture';
import { places } from './places';
import { rays } from './rays';
import { readings } from './readings';
import { things } from './things';
import { way } from './way';

/* The layers of the drawing, from the lowest to the uppermost.  Another layer is one file here and one row of this table; what a tool
   is just drawing comes after all of them. */
export const LAYERS: readonly Layer[] = [
  ground,
  picture,
  building,
  places,
  things,
  failure,
  way,
  rays,
  readings,
  evidence,
  cross,
  margin,
];
