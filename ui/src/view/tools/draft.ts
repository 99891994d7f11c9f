import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { Problem } from '../../api/client';
import type { Edit, Vec2 } from '../../api/types';
import { below, distance, reach, snap, targetsOf, tidy, type Snapped } from '../../draw/snap';
import { path, points as listed } from '../../draw/shapes';
import type { Stage, Thing } from '../../draw/stage';
import { settings } from '../../state/settings';
import { length, readLengths, withUnit } from '../../units';
import { problemList } from '../parts';
import { aimed, isAtEdge, Tool, type Spot } from './tool';

/* Drawing point after point: snapping, typed lengths, the last point taken back.  What the points become is the business of the tools
   made of this. */

const SAME_PX = 7; /* a tap so near to the last point ends the line */

export abstract class DraftTool extends Tool {
  protected points: Vec2[] = [];
  protected aim: Snapped | null = null;
  protected typed = '';
  protected problems: Problem[] = []; /* why it was not kept */
  protected busy = false;

  /* How many points it takes at least, and at most before it ends by itself. */
  protected least = 2;
  protected most = Infinity;
  /* It may end where it began. */
  protected closes = true;

  /* The points are what was wanted.  True: they were kept, or are being asked about. */
  protected abstract finish(points: Vec2[], closed: boolean): Promise<boolean>;

  get step_m(): number {
    return 0.25;
  }

  protected get last(): Vec2 | undefined {
    return this.points[this.points.length - 1];
  }

  protected snapped(at: Vec2, fine: boolean, byKeys = false): Snapped {
    const targets = targetsOf(this.stage.d, this.stage.floor);
    for (const p of this.points.slice(0, -1))
      targets.points.unshift({ at: p, says: p === this.points[0] ? 'first point' : 'point drawn before', wall: false });
    const scale = byKeys ? 90 : this.stage.w.scale; /* the cross falls on what is nearer than half its step */
    if (!fine) this.house.pictures.withInk(targets, this.stage.floor, at, reach(scale));
    return snap(at, targets, {
      scale,
      fine,
      from: this.last,
      before: this.points[this.points.length - 2],
    });
  }

  /* ---- the pointer, and the cross ---- */

  hover(spot: Spot, byKeys: boolean): void {
    this.aim = this.snapped(spot.at, spot.fine, byKeys);
    if (byKeys) this.house.say(this.told());
    this.board.redraw();
  }

  tap(spot: Spot): void {
    if (this.busy) return;
    if (spot.element || !this.aim) this.aim = this.snapped(spot.at, spot.fine, !spot.element);
    this.board.cross = spot.element ? null : this.aim.at;
    this.set(this.aim.at);
  }

  /* One more point; where the line ends is where it began, or the same point again. */
  protected set(at: Vec2): void {
    const near = (p: Vec2 | undefined): boolean => !!p && distance(p, at) * this.stage.w.scale < SAME_PX;
    this.typed = '';
    this.problems = [];
    if (near(this.last)) return void this.end(false);
    if (this.closes && this.points.length >= 3 && near(this.points[0])) return void this.end(true);
    this.points = [...this.points, tidy(at)];
    if (this.points.length >= this.most) return void this.end(false);
    if (this.points.length > 1) this.house.say(this.measure(this.points.length - 1));
    this.board.redraw();
  }

  protected async end(closed: boolean): Promise<void> {
    if (this.busy || this.points.length < this.least) return;
    this.busy = true;
    const kept = await this.finish(this.points, closed);
    this.busy = false;
    if (kept) this.points = [];
    this.board.redraw();
  }

  /* What is drawn is kept; false: it is refused, and stays to be mended. */
  protected async keep(what: string, edits: Edit[]): Promise<boolean> {
    const outcome = await this.house.edit(what, edits);
    this.problems = outcome.ok ? [] : outcome.problems;
    return outcome.ok;
  }

  /* ---- keys ---- */

  key(e: KeyboardEvent, thing: Thing | null): boolean {
    if (e.ctrlKey || thing) return false;
    if (/^[0-9]$/.test(e.key) || (this.typed && /^[.,\- '"]$/.test(e.key)) || (e.key === '.' && !this.typed)) {
      this.typed += e.key;
      this.house.say(withUnit(this.typed, settings.unit));
    } else if (e.key === 'Backspace') {
      if (this.typed) this.typed = this.typed.slice(0, -1);
      else this.points = this.points.slice(0, -1);
      this.problems = [];
      this.house.say(this.typed || 'the last point is taken back');
    } else if (e.key === 'Enter' && this.typed) this.takeTyped();
    else if (e.key === 'Enter' && !this.board.cross && this.points.length >= this.least) void this.end(false);
    else return false;
    this.board.redraw();
    return true;
  }

  /* One number: so far in the direction that is aimed at.  Two: a place, from the house's corner. */
  protected takeTyped(): void {
    const typed = readLengths(this.typed, settings.unit);
    this.typed = '';
    const numbers = typed.filter((n) => n !== null);
    if (numbers.length < typed.length) return this.house.say('That is no length');
    const from = this.last;
    if (numbers.length === 2) return this.arrive([numbers[0], numbers[1]]);
    if (!from) return this.house.say('Type where it begins: east, a space, north');
    const to = this.aim?.at ?? this.board.cross;
    const far = to ? distance(from, to) : 0;
    if (!to || far < 1e-9) return this.house.say('Point in the direction first');
    this.arrive([from[0] + ((to[0] - from[0]) * numbers[0]) / far, from[1] + ((to[1] - from[1]) * numbers[0]) / far]);
  }

  protected arrive(at: Vec2): void {
    const to = tidy(at);
    this.aim = { at: to, says: 'typed', guides: [], wall: false, point: false };
    if (this.board.cross) this.board.cross = to;
    this.set(to);
  }

  cancel(): boolean {
    if (!this.points.length && !this.typed) return false;
    this.points = [];
    this.typed = '';
    this.problems = [];
    this.board.redraw();
    return true;
  }

  /* ---- what is shown ---- */

  protected measure(i: number): string {
    return length(distance(this.points[i - 1], this.points[i]), settings.unit);
  }

  /* Where the next point falls, and how far that is. */
  protected told(): string {
    if (!this.aim) return '';
    const { at, says } = this.aim;
    const far = this.last ? length(distance(this.last, at), settings.unit) : '';
    const place = `${length(at[0], settings.unit)} by ${length(at[1], settings.unit)}`;
    return [far || place, says].filter(Boolean).join(', ');
  }

  protected wrong(): TemplateResult | typeof nothing {
    return this.problems.length
      ? html`<div class="tool-wrong" role="alert">${problemList(this.problems, false)}</div>`
      : nothing;
  }

  /* The shape as it would be with the next point. */
  protected shape(): { line: Vec2[]; closed: boolean } {
    return { line: this.aim && this.points.length ? [...this.points, this.aim.at] : this.points, closed: false };
  }

  layer(s: Stage): SVGTemplateResult {
    const { line, closed } = this.shape();
    const drawn = line.map((p) => s.onPlan(p));
    const aim = this.aim;
    return svg`<g class="draft">
      ${floorBelow(s)}
      ${aim?.guides.map(([a, b]) => svg`<path class="guide" d=${path([s.onPlan(a), s.onPlan(b)])}></path>`)}
      ${drawn.length > 1 ? (closed ? svg`<polygon class="drawn" points=${listed(drawn)}></polygon>` : svg`<path class="drawn" d=${path(drawn)}></path>`) : null}
      ${this.points.map((p) => {
        const [x, y] = s.onPlan(p);
        return svg`<circle class="drawn-point" cx=${x} cy=${y} r="3.5"></circle>`;
      })}
      ${aim ? this.pointer(s, aim) : null}</g>`;
  }

  /* Beside the pointer: what was typed, or how far it is, and on what it falls. */
  private pointer(s: Stage, aim: Snapped): SVGTemplateResult {
    const [x, y] = s.onPlan(aim.at);
    const left = isAtEdge(s, x);
    const anchor = left ? 'end' : 'start';
    const at = x + (left ? -12 : 12);
    const far = this.typed
      ? withUnit(`${this.typed}▏`, settings.unit)
      : this.last && distance(this.last, aim.at) > 0
        ? this.far(aim)
        : '';
    return svg`${aimed(s, aim)}
      ${far ? svg`<text class="far" x=${at} y=${y - 10} text-anchor=${anchor}>${far}</text>` : null}`;
  }

  protected far(aim: Snapped): string {
    return length(distance(this.last as Vec2, aim.at), settings.unit);
  }
}

/* The floor below, faintly: walls mostly stand on walls. */
function floorBelow(s: Stage): SVGTemplateResult | null {
  const under = below(s.d, s.floor);
  if (!under) return null;
  return svg`<g class="below"><polygon points=${listed(under.outline.map((p) => s.onPlan(p)))}></polygon>
    ${s.d.walls.filter((w) => w.floor === under.id).map((w) => svg`<path d=${path(w.line.map((p) => s.onPlan(p)))}></path>`)}</g>`;
}
