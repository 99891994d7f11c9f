import { Choose } from './choose';
import type { Board, Tool } from './tool';

/* The tools, by the words that choose them in the sheet's head.  The first is there always; the others where the plan is shown and the
   left side is `change`.  Another tool is one file here and one row of this table. */
export const TOOLS: readonly { name: string; word: string; make: new (b: Board) => Tool }[] = [
  { name: '', word: 'choose', make: Choose },
];
