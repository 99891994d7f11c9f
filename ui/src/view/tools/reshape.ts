import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { DrawnOpening, Edit, Vec2 } from '../../api/types';
import { distance, nearestOn, nearestWall, reach, snap, targetsOf, tidy, type Snapped } from '../../draw/snap';
import { inside, path as line, points as listed } from '../../draw/shapes';
import type { Stage } from '../../draw/stage';
import { freshIds } from '../../state/build';
import {
  cornerEdits,
  cornersOf,
  isClosed,
  isShaped,
  pulled,
  movedLines,
  openingEdits,
  splitWall,
  type Corner,
} from '../../state/corners';
import { pointer } from '../../state/pointer';
import { settings } from '../../state/settings';
import { length, words } from '../../units';
import { placeOn, type Placed } from './opening';
import { ARROWS, type Board, type Spot } from './tool';

/* What is chosen can be drawn otherwise: its corners dragged, the whole of it moved, an opening moved along its wall, a wall split. */

type Held =
  | { is: 'corners'; corners: Corner[]; from: Vec2; to: Vec2; aim: Snapped | null; what: string; whole: boolean }
  | { is: 'opening'; opening: DrawnOpening; grip: number; placed: Placed | null };

const ALL = 'all'; /* the handle of the whole shape */

type Asking = 'split' | 'corner';

export class Reshape {
  private held: Held | null = null;
  private asking: Asking | null = null; /* the next tap is for this */
  picked = ''; /* the opening that was chosen last */

  constructor(private readonly board: Board) {}

  private get stage(): Stage {
    return this.board.stage as Stage;
  }

  get active(): boolean {
    return this.stage.kind === 'plan' && this.board.house.look.side === 'change';
  }

  private get chosen(): { section: string; id: string } | null {
    const { section, item } = this.board.house.look;
    return item && item !== '+' && isShaped(section) ? { section, id: item } : null;
  }

  private get corners(): Corner[] {
    const c = this.chosen;
    return c && this.isHere(c.section, c.id) ? cornersOf(this.board.house, c.section, c.id) : [];
  }

  private isHere(section: string, id: string): boolean {
    const { d, floor } = this.stage;
    switch (section) {
      case 'floors':
        return id === floor.id;
      case 'runs':
        return !!d.runs.find((r) => r.id === id)?.floors.includes(floor.id);
      default: {
        const all = { walls: d.walls, rooms: d.rooms, obstacles: d.obstacles, planes: d.planes }[section] ?? [];
        return all.find((x) => x.id === id)?.floor === floor.id;
      }
    }
  }

  /* ---- the words above ---- */

  says(): string {
    if (this.asking === 'split') return 'Choose where the wall is split.';
    if (this.asking === 'corner') return 'Choose where its new corner is.';
    if (this.picked) return 'Drag it along its wall; Delete removes it.';
    return this.corners.length ? 'Drag a corner, or all of it; Delete removes it.' : '';
  }

  head(): TemplateResult | null {
    const c = this.chosen;
    if (!c || !this.corners.length) return null;
    const ask = (a: Asking) => () => {
      this.asking = this.asking === a ? null : a;
      this.board.redraw();
      this.board.focusDrawing();
    };
    return html`<div class="choices" role="group" aria-label=${`What is done with ${words(c.id)}`}>
      <button
        type="button"
        class="word"
        aria-pressed=${this.asking !== null}
        @click=${ask(c.section === 'walls' ? 'split' : 'corner')}
      >
        ${c.section === 'walls' ? 'split it' : 'one more corner'}
      </button>
      <button type="button" class="word" @click=${() => void this.remove()}>
        remove ${this.picked ? 'the opening' : 'it'}
      </button>
    </div>`;
  }

  /* ---- dragged ---- */

  take(spot: Spot): boolean {
    const handle = spot.element?.closest('[data-handle]')?.getAttribute('data-handle');
    if (handle) {
      const corner = this.corners[Number(handle)];
      if (corner) this.grip(pulled(this.board.house, this.stage.floor.id, [corner]), corner.at, 'a corner moved');
      return !!corner;
    }
    const opening = this.openingOf(spot.path);
    if (opening) {
      const on = nearestWall(this.stage.d, this.stage.floor.id, spot.at);
      this.held = { is: 'opening', opening, grip: (on?.along ?? opening.from_m) - opening.from_m, placed: null };
      return true;
    }
    return this.takeWhole(spot);
  }

  /* What is chosen already is moved as a whole, also from under what lies on it; so is a hole of a chosen floor. */
  private takeWhole(spot: Spot): boolean {
    const c = this.chosen;
    if (!c) return false;
    const all = this.corners;
    const under = [...new Set(all.map((k) => k.list))]
      .filter((list) => isClosed(list) && (this.isOne || list.includes('/holes/')))
      .map((list) => all.filter((k) => k.list === list))
      .find((own) =>
        inside(
          own.map((k) => k.at),
          spot.at,
        ),
      );
    if (under) return this.gripAll(under, spot.at, this.isOne ? undefined : 'the hole moved');
    return spot.path === pointer(c.section, c.id) && this.isOne && this.gripAll(all, spot.at);
  }

  /* Rooms and floors lie between walls: of those only corners are moved. */
  private get isOne(): boolean {
    return !!this.chosen && !['rooms', 'floors'].includes(this.chosen.section);
  }

  private gripAll(own: Corner[], from: Vec2, what = `${words(this.chosen?.id ?? '')} moved`): boolean {
    this.grip(pulled(this.board.house, this.stage.floor.id, own), from, what);
    if (this.held?.is === 'corners') this.held.whole = true;
    return own.length > 0;
  }

  private grip(corners: Corner[], from: Vec2, what: string): void {
    this.held = { is: 'corners', corners, from, to: from, aim: null, what, whole: false };
  }

  private openingOf(path: string): DrawnOpening | null {
    if (!path.includes('/openings/')) return null;
    return this.stage.d.walls.flatMap((w) => w.openings).find((o) => o.path === path) ?? null;
  }

  drag(spot: Spot): void {
    const h = this.held;
    if (!h) return;
    if (h.is === 'opening') h.placed = this.along(h, spot.at, spot.fine);
    else this.pull(h, spot);
    this.board.redraw();
  }

  private along(h: Held & { is: 'opening' }, at: Vec2, fine: boolean): Placed | null {
    const wall = this.stage.d.walls.find((w) => h.opening.path.startsWith(`${w.path}/`));
    if (!wall) return null;
    const on = nearestWall({ ...this.stage.d, walls: [wall] }, this.stage.floor.id, at);
    if (!on) return null;
    const wide = h.opening.width_m;
    return placeOn({ ...on, along: on.along - h.grip + wide / 2 }, wide, this.stage.w.scale, fine);
  }

  private pull(h: Held & { is: 'corners' }, spot: Spot): void {
    if (h.whole) {
      const step = spot.fine ? 0.01 : 0.05;
      const by = [spot.at[0] - h.from[0], spot.at[1] - h.from[1]].map((v) => Math.round(v / step) * step);
      h.to = [h.from[0] + by[0], h.from[1] + by[1]];
      this.straighten(h);
      return;
    }
    const moved = (p: Vec2): boolean => h.corners.some((c) => distance(c.at, p) < 0.02);
    const targets = targetsOf(this.stage.d, this.stage.floor);
    targets.points = targets.points.filter((p) => !moved(p.at));
    targets.lines = targets.lines.filter((l) => !moved(l.a) && !moved(l.b));
    const { pictures } = this.board.house;
    if (!spot.fine) pictures.withInk(targets, this.stage.floor, spot.at, reach(this.stage.w.scale));
    h.aim = snap(spot.at, targets, { scale: this.stage.w.scale, fine: spot.fine, from: this.neighbour(h.corners[0]) });
    h.to = h.aim.at;
  }

  /* A straight wall is moved square to itself: along itself is what its ends are for. */
  private straighten(h: Held & { is: 'corners' }): void {
    const own = this.corners;
    if (this.chosen?.section !== 'walls' || own.length !== 2) return;
    const far = distance(own[0].at, own[1].at);
    const across: Vec2 = [-(own[1].at[1] - own[0].at[1]) / far, (own[1].at[0] - own[0].at[0]) / far];
    const by = (h.to[0] - h.from[0]) * across[0] + (h.to[1] - h.from[1]) * across[1];
    h.to = [h.from[0] + across[0] * by, h.from[1] + across[1] * by];
  }

  private neighbour(c: Corner): Vec2 | undefined {
    const list = this.corners.filter((k) => k.list === c.list);
    return (list[c.index - 1] ?? list[c.index + 1])?.at;
  }

  private by(h: Held & { is: 'corners' }): Vec2 {
    return [h.to[0] - h.from[0], h.to[1] - h.from[1]];
  }

  drop(): void {
    const h = this.held;
    if (!h) return;
    if (h.is === 'opening') {
      if (h.placed)
        void this.keep(`${h.opening.kind === 'gap' ? 'passage' : h.opening.kind} moved`, [
          { op: 'set', path: `${h.opening.path}/at_m`, value: h.placed.from },
        ]);
    } else if (distance(h.from, h.to) > 1e-6)
      void this.keep(h.what, [
        ...cornerEdits(h.corners, this.by(h)),
        ...openingEdits(this.board.house, h.corners, this.by(h)),
      ]);
    else this.held = null;
  }

  private async keep(what: string, edits: Edit[]): Promise<void> {
    const outcome = await this.board.house.edit(what, edits);
    this.held = null;
    this.board.redraw();
    if (!outcome.ok) this.board.house.say(`Not kept: ${outcome.problems[0]?.says ?? 'it cannot be so'}`);
  }

  /* ---- tapped ---- */

  tap(spot: Spot): boolean {
    this.held = null;
    const asking = this.asking;
    const c = this.chosen;
    this.picked = spot.path.includes('/openings/') ? spot.path : '';
    if (!asking || !c) return false;
    this.asking = null;
    if (asking === 'split') this.split(c.id, spot);
    else this.addCorner(spot);
    this.board.redraw();
    return true;
  }

  private split(id: string, spot: Spot): void {
    const { house } = this.board;
    const wall = this.stage.d.walls.find((w) => w.id === id);
    const on = wall ? nearestWall({ ...this.stage.d, walls: [wall] }, this.stage.floor.id, spot.at) : null;
    if (!on || on.away > 1) return house.say('Choose a place on the wall that is chosen');
    const targets = targetsOf(this.stage.d, this.stage.floor, (p) => p === on.wall.path);
    const near = targets.points.filter((p) => distance(p.at, on.at) * this.stage.w.scale < 12)[0];
    const at = near
      ? (nearestWall({ ...this.stage.d, walls: [on.wall] }, this.stage.floor.id, near.at)?.along ?? on.along)
      : on.along;
    const second = freshIds(house, 'walls', `${id.replace(/_\d+$/, '')}_`)[0];
    const edits = splitWall(house, id, second, near ? at : Math.round(at / 0.05) * 0.05);
    if (typeof edits === 'string') return house.say(edits);
    void this.keep(`${words(id)} split`, edits);
  }

  private addCorner(spot: Spot): void {
    let best: { all: Corner[]; i: number; away: number } | null = null;
    for (const list of new Set(this.corners.map((c) => c.list))) {
      const all = this.corners.filter((c) => c.list === list);
      for (let i = 0; i + (isClosed(list) ? 0 : 1) < all.length; i++) {
        const { away } = nearestOn(all[i].at, all[(i + 1) % all.length].at, spot.at);
        if (!best || away < best.away) best = { all, i, away };
      }
    }
    if (!best) return;
    const { all } = best;
    const at = snap(spot.at, targetsOf(this.stage.d, this.stage.floor), {
      scale: this.stage.w.scale,
      fine: spot.fine,
    }).at;
    const list = all.map((c) => [...c.at, ...c.rest]);
    list.splice(best.i + 1, 0, [...at, ...all[best.i].rest]);
    void this.keep('a corner more', [{ op: 'set', path: all[0].list, value: list }]);
  }

  async remove(): Promise<void> {
    const { house } = this.board;
    const { section, item } = house.look;
    const opening = this.openingOf(this.picked);
    if (!opening && (!item || item === '+' || section === 'statements')) return;
    const last = opening && this.stage.d.walls.find((w) => w.openings.includes(opening))?.openings.length === 1;
    const edit: Edit = {
      op: 'remove',
      path: opening ? (last ? opening.path.replace(/\/\d+$/, '') : opening.path) : pointer(section, item),
    };
    const outcome = await house.edit(opening ? `${opening.kind} removed` : `${words(item)} removed`, [edit]);
    this.picked = '';
    if (!outcome.ok) house.say(`Not removed: ${outcome.problems[0]?.says ?? ''}`);
    else if (!opening) house.set({ item: '' });
    this.board.focusDrawing();
  }

  /* ---- keys ---- */

  key(e: KeyboardEvent): boolean {
    const handle = (e.target as Element).closest('[data-handle]')?.getAttribute('data-handle') ?? '';
    const step = ARROWS[e.key];
    if (e.key === 'Delete') {
      if (this.openingOf(handle)) this.picked = handle;
      void this.remove();
      return true;
    }
    if (!handle) return false;
    if (step) {
      const far = e.shiftKey ? 0.5 : 0.05;
      const says = this.step(handle, [step[0] * far, step[1] * far]);
      if (says) this.board.house.say(`${says}; Enter keeps it`);
    } else if (e.key === 'Enter' && this.held) this.drop();
    else if (!(e.key === 'Escape' && this.cancel())) return false;
    this.board.redraw();
    return true;
  }

  /* One press of an arrow on a corner, an opening or all of it; in words, where it would be then. */
  private step(handle: string, by: Vec2): string {
    const plus = (p: Vec2): Vec2 => tidy([p[0] + by[0], p[1] + by[1]]);
    const opening = this.openingOf(handle);
    if (opening) {
      if (this.held?.is !== 'opening') this.held = { is: 'opening', opening, grip: 0, placed: null };
      this.held.placed = this.along(this.held, plus(this.held.placed?.line[0] ?? opening.line[0]), true);
      return this.held.placed?.says ?? '';
    }
    const own = handle === ALL ? this.corners : [this.corners[Number(handle)]];
    if (!own[0]) return '';
    if (this.held?.is !== 'corners') {
      if (handle === ALL) this.gripAll(own, this.middle);
      else this.grip(pulled(this.board.house, this.stage.floor.id, own), own[0].at, 'a corner moved');
    }
    const h = this.held as Held & { is: 'corners' };
    h.to = plus(h.to);
    if (h.whole) this.straighten(h);
    const at = h.whole ? this.by(h) : h.to;
    const [x, y] = at.map((v) => length(v, settings.unit));
    return h.whole ? `moved by ${x}, ${y}` : `corner at ${x} by ${y}`;
  }

  private get middle(): Vec2 {
    const all = this.corners;
    const mean = (k: 0 | 1): number => all.reduce((sum, c) => sum + c.at[k], 0) / all.length;
    return [mean(0), mean(1)];
  }

  cancel(): boolean {
    if (!this.held && !this.asking) return false;
    this.held = null;
    this.asking = null;
    this.board.redraw();
    return true;
  }

  /* ---- shown ---- */

  layer(s: Stage): SVGTemplateResult | null {
    const h = this.held;
    const name = this.chosen ? words(this.chosen.id) : '';
    return svg`<g class="reshape">
      ${h?.is === 'corners' ? this.asMoved(s, h) : null}
      ${
        h?.is === 'opening' && h.placed
          ? svg`<path class="opening" d=${line(h.placed.line.map((p) => s.onPlan(p)))} stroke-width="8"></path>
        <text class="caught" x=${s.onPlan(h.placed.line[1])[0] + 14} y=${s.onPlan(h.placed.line[1])[1] - 14}>${h.placed.says}</text>`
          : null
      }
      ${this.corners.map((c, i) => {
        const [x, y] = s.onPlan(c.at);
        return svg`<g data-handle=${String(i)} class="handle" tabindex="0" role="button" aria-label=${`corner ${i + 1} of ${name}`}>
          <circle class="hit" cx=${x} cy=${y} r="12"></circle><circle class="grip" cx=${x} cy=${y} r="5"></circle></g>`;
      })}
      ${this.byKeys().map(({ handle, at, says }) => {
        const [x, y] = s.onPlan(at);
        return svg`<g data-handle=${handle} class="handle by-keys" tabindex="0" role="button" aria-label=${says}>
          <circle class="grip" cx=${x} cy=${y} r="9"></circle></g>`;
      })}</g>`;
  }

  /* What the pointer takes hold of where it is drawn has a handle for the keyboard, seen while it has the focus. */
  private byKeys(): { handle: string; at: Vec2; says: string }[] {
    const c = this.chosen;
    if (!c || !this.corners.length) return [];
    const wall = c.section === 'walls' ? this.stage.d.walls.find((w) => w.id === c.id) : undefined;
    return [
      ...(this.isOne ? [{ handle: ALL, at: this.middle, says: `all of ${words(c.id)}` }] : []),
      ...(wall?.openings ?? []).map((o, i) => ({
        handle: o.path,
        at: [(o.line[0][0] + o.line[1][0]) / 2, (o.line[0][1] + o.line[1][1]) / 2] as Vec2,
        says: `${o.kind === 'gap' ? 'passage' : o.kind}, opening ${i + 1} of ${words(c.id)}`,
      })),
    ];
  }

  private asMoved(s: Stage, h: Held & { is: 'corners' }): SVGTemplateResult {
    const [x, y] = s.onPlan(h.to);
    const before = h.whole ? h.from : this.neighbour(h.corners[0]);
    return svg`${movedLines(this.board.house, h.corners, this.by(h)).map(({ line: l, closed }) =>
      closed
        ? svg`<polygon class="drawn" points=${listed(l.map((p) => s.onPlan(p)))}></polygon>`
        : svg`<path class="drawn" d=${line(l.map((p) => s.onPlan(p)))}></path>`,
    )}
    ${h.aim?.guides.map(([a, b]) => svg`<path class="guide" d=${line([s.onPlan(a), s.onPlan(b)])}></path>`)}
    <text class="far" x=${x + 12} y=${y - 10}>${before ? length(distance(before, h.to), settings.unit) : nothing}</text>
    <text class="caught" x=${x + 12} y=${y + 20}>${h.aim?.says ?? ''}</text>`;
  }
}
