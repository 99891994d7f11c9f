import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { Problem } from '../../api/client';
import type { Dict, Vec2 } from '../../api/types';
import { isOnOutline, nearestWall, tidyNumber, type OnWall } from '../../draw/snap';
import { path } from '../../draw/shapes';
import type { Stage, Thing } from '../../draw/stage';
import { addToList } from '../../state/build';
import { constructs } from '../../state/constructs';
import { settings } from '../../state/settings';
import { length, readLength, withUnit, words } from '../../units';
import { problemList } from '../parts';
import { DOORS, made, measure, WINDOWS } from './fields';
import { Tool, type Board, type Spot } from './tool';

/* Doors, windows and passages, placed on a wall. */

interface Usual {
  kind: 'door' | 'window' | 'gap';
  word: string;
  width: number;
  sill: number;
  head: number;
  inner: string; /* of what, in a wall inside; '' nothing */
  outer: string; /* and in one on the floor's outline */
}

const NEAR_PX = 22;
const NEAR_BY_KEYS_M = 0.6;
const GRID_M = 0.05;

export interface Placed {
  on: OnWall;
  from: number; /* along the wall */
  line: [Vec2, Vec2];
  says: string;
}

/* Where on a wall an opening of a width would stand: on the grid from the wall's beginning, or in the middle, within its stretch. */
export function placeOn(on: OnWall, width: number, scale: number, fine: boolean): Placed | null {
  if (width > on.length + 1e-9) return null;
  const step = fine ? 0.01 : GRID_M;
  const middle = (on.length - width) / 2;
  let from = Math.round((on.along - on.start - width / 2) / step) * step;
  const centred = !fine && Math.abs(from - middle) * scale < 7;
  if (centred) from = middle;
  from = tidyNumber(Math.min(Math.max(from, 0), on.length - width));
  const [a, b] = stretchOf(on);
  const along = (m: number): Vec2 => [a[0] + ((b[0] - a[0]) * m) / on.length, a[1] + ((b[1] - a[1]) * m) / on.length];
  const says = `${centred ? 'in the middle' : `${length(from, settings.unit)} from its end`} of ${words(on.wall.id)}`;
  return { on, from: tidyNumber(on.start + from), line: [along(from), along(from + width)], says };
}

function stretchOf(on: OnWall): [Vec2, Vec2] {
  let walked = 0;
  for (let i = 0; i + 1 < on.wall.line.length; i++) {
    const [a, b] = [on.wall.line[i], on.wall.line[i + 1]];
    if (Math.abs(walked - on.start) < 1e-9) return [a, b];
    walked += Math.hypot(b[0] - a[0], b[1] - a[1]);
  }
  return [on.wall.line[0], on.wall.line[1]];
}

abstract class Opening extends Tool {
  protected abstract readonly usual: Usual;
  private readonly made;
  private placed: Placed | null = null;
  private typed = '';
  private problems: Problem[] = [];

  constructor(board: Board) {
    super(board);
    this.made = constructs(board.house, () => board.redraw());
  }

  says(): string {
    return `Choose the wall where the ${this.usual.word} is.`;
  }

  head(): TemplateResult {
    const u = this.usual;
    const set = (key: 'width' | 'sill' | 'head') => (v: number) => {
      u[key] = v;
      this.board.redraw();
    };
    return html`${measure('wide', u.width, set('width'))} ${measure('from', u.sill, set('sill'))}
    ${measure('up to', u.head, set('head'))}
    ${
      u.inner
        ? html`${made('of', u.inner, this.made.list, u.kind === 'door' ? DOORS : WINDOWS, (v) => (u.inner = v))}
          ${made('on the outline of', u.outer, this.made.list, u.kind === 'door' ? DOORS : WINDOWS, (v) => (u.outer = v))}`
        : nothing
    }
    ${this.problems.length ? html`<div class="tool-wrong" role="alert">${problemList(this.problems, false)}</div>` : nothing}`;
  }

  private find(spot: Spot, byKeys: boolean): Placed | null {
    const on = nearestWall(this.stage.d, this.stage.floor.id, spot.at);
    if (!on) return null;
    const near = byKeys
      ? on.away <= NEAR_BY_KEYS_M
      : (on.away - on.wall.thickness_m / 2) * this.stage.w.scale <= NEAR_PX;
    return near ? placeOn(on, this.usual.width, this.stage.w.scale, spot.fine && !byKeys) : null;
  }

  hover(spot: Spot, byKeys: boolean): void {
    this.placed = this.find(spot, byKeys);
    if (byKeys)
      this.house.say(this.placed ? `${this.usual.word} ${this.placed.says}; Enter keeps it` : 'no wall is near');
    this.board.redraw();
  }

  tap(spot: Spot): void {
    const placed = this.find(spot, !spot.element);
    if (!placed) {
      const near = nearestWall(this.stage.d, this.stage.floor.id, spot.at);
      return this.house.say(
        near ? 'No wall is near, or it is shorter than that is wide' : 'There is no wall yet: draw one first',
      );
    }
    void this.keep(placed);
  }

  private async keep({ on, from, line, says }: Placed): Promise<void> {
    const u = this.usual;
    const { floor } = this.stage;
    const value: Dict = {
      kind: u.kind,
      at_m: from,
      width_m: tidyNumber(u.width),
      sill_m: tidyNumber(u.sill),
      head_m: tidyNumber(Math.min(u.head, on.wall.top_m)),
    };
    if (u.inner) value.construct = isOnOutline(floor, ...line) ? u.outer : u.inner;
    const outcome = await this.house.edit(`${u.word} ${says}`, [
      addToList(this.house, `${on.wall.path}/openings`, value),
    ]);
    this.problems = outcome.ok ? [] : outcome.problems;
    this.placed = null;
    this.board.redraw();
  }

  /* Digits are a width. */
  key(e: KeyboardEvent, thing: Thing | null): boolean {
    if (e.ctrlKey || thing) return false;
    if (/^[0-9.,'"]$/.test(e.key)) this.typed += e.key;
    else if (e.key === 'Backspace' && this.typed) this.typed = this.typed.slice(0, -1);
    else if (e.key === 'Enter' && this.typed) {
      const wide = readLength(this.typed, settings.unit);
      if (wide !== null && wide > 0) this.usual.width = wide;
      this.typed = '';
      this.house.say(`${length(this.usual.width, settings.unit)} wide`);
      if (this.board.cross) this.hover({ at: this.board.cross } as Spot, true);
    } else return false;
    this.board.redraw();
    return true;
  }

  cancel(): boolean {
    if (!this.typed && !this.problems.length) return false;
    this.typed = '';
    this.problems = [];
    this.board.redraw();
    return true;
  }

  layer(s: Stage): SVGTemplateResult | null {
    if (!this.placed) return null;
    const { line, says, on } = this.placed;
    const [a, b] = line.map((p) => s.onPlan(p));
    const wide = this.typed
      ? `${withUnit(`${this.typed}▏`, settings.unit)} wide`
      : `${length(this.usual.width, settings.unit)} wide`;
    return svg`<g class="draft"><path class="opening" d=${path([a, b])} stroke-width=${Math.max(on.wall.thickness_m * s.w.scale, 5)}></path>
      <text class="far" x=${(a[0] + b[0]) / 2 + 14} y=${(a[1] + b[1]) / 2 - 14}>${wide}</text>
      <text class="caught" x=${(a[0] + b[0]) / 2 + 14} y=${(a[1] + b[1]) / 2 + 24}>${says}</text></g>`;
  }
}

/* As they are chosen last, they stay: many doors of a house are alike.  Usual measures: common practice, no source. */
const DOOR: Usual = {
  kind: 'door',
  word: 'door',
  width: 0.9,
  sill: 0,
  head: 2.05,
  inner: 'hollow_door',
  outer: 'timber_door',
};
const WINDOW: Usual = {
  kind: 'window',
  word: 'window',
  width: 1.2,
  sill: 0.9,
  head: 2.1,
  inner: 'glass_single',
  outer: 'glass_double',
};
const PASSAGE: Usual = { kind: 'gap', word: 'passage', width: 1, sill: 0, head: 2.05, inner: '', outer: '' };

export class Door extends Opening {
  protected readonly usual = DOOR;
}
export class WindowTool extends Opening {
  protected readonly usual = WINDOW;
}
export class Passage extends Opening {
  protected readonly usual = PASSAGE;
}
