import { svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { Vec2 } from '../../api/types';
import type { Moving, Stage, Thing } from '../../draw/stage';
import type { House } from '../../state/house';

/* A tool is what pointer and keys do on the drawing.  The drawing itself knows how to zoom, to move the sheet and to move the cross by
   the arrow keys; whatever else is done there a tool does. */

/* A place on the drawing, and what lies there. */
export interface Spot {
  at: Vec2; /* metres; of the plan */
  screen: Vec2; /* pixels */
  thing: Thing | null; /* equipment, a device or a mount */
  path: string; /* of what lies there, as edits name it; '' nothing */
  element: Element | null; /* that is drawn there; null: by keys */
  fine: boolean; /* a key is held that asks for finer steps */
}

/* What a tool works on. */
export interface Board {
  readonly house: House;
  readonly stage: Stage | null; /* as it was drawn last */
  cross: Vec2 | null;
  redraw(): void;
  focusHead(): void; /* the first field of the tool's head */
  focusDrawing(): void;
}

export abstract class Tool {
  constructor(protected readonly board: Board) {}

  protected get house(): House {
    return this.board.house;
  }

  protected get stage(): Stage {
    return this.board.stage as Stage; /* nothing is pointed at before it is drawn */
  }

  /* One sentence: what to do next. */
  says(): string {
    return '';
  }

  /* Words and fields of its own, beside that sentence. */
  head(): TemplateResult | null {
    return null;
  }

  /* What it is drawing; above all other layers. */
  layer(_s: Stage): SVGTemplateResult | null {
    return null;
  }

  /* A press begins: true if what lies there is dragged by it.  If not, dragging moves the sheet. */
  take(_at: Spot): boolean {
    return false;
  }

  drag(_at: Spot): void {
    /* only of what was taken */
  }

  drop(_at: Spot): void {
    /* only of what was taken */
  }

  /* Pressed and let go in one place, or Enter on the cross. */
  tap(_at: Spot): void {
    /* nothing is there to be done */
  }

  /* The pointer, or the cross (`byKeys`), passes over a place. */
  hover(_at: Spot, _byKeys: boolean): void {
    /* most look only where they are pressed */
  }

  /* A key; `thing` has the focus, or the drawing (null).  True: that was for this tool. */
  key(_e: KeyboardEvent, _thing: Thing | null): boolean {
    return false;
  }

  /* Whatever was begun is given up: by Escape, by a second finger, or because another tool is taken.  False: there was nothing. */
  cancel(): boolean {
    return false;
  }

  get moving(): Moving | null {
    return null;
  }

  /* How far an arrow key moves the cross. */
  get step_m(): number {
    return 0.25;
  }
}

/* Words beside a place there would leave the sheet. */
export const isAtEdge = (s: Stage, x: number): boolean => x > s.size.w - 190;

/* Where the next point falls, and on what. */
export function aimed(s: Stage, { at, says }: { at: Vec2; says: string }): SVGTemplateResult {
  const [x, y] = s.onPlan(at);
  const left = isAtEdge(s, x);
  return svg`<path class="aim ${says ? 'is-caught' : ''}" d=${`M${x - 6} ${y}H${x + 6}M${x} ${y - 6}V${y + 6}`}></path>
    ${says ? svg`<text class="caught" x=${x + (left ? -12 : 12)} y=${y + 20} text-anchor=${left ? 'end' : 'start'}>${says}</text>` : null}`;
}

export const ARROWS: Readonly<Record<string, Vec2>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};
