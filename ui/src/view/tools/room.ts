import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { getJson, query, Refused } from '../../api/client';
import type { Dict, Vec2 } from '../../api/types';
import { inside, middle, points as listed } from '../../draw/shapes';
import type { Stage, Thing } from '../../draw/stage';
import { addTo, freshIds, nameOf } from '../../state/build';
import { choices } from '../parts';
import { settings } from '../../state/settings';
import { area, length, words } from '../../units';
import { asChoices, choice, word } from './fields';
import { ShapeTool } from './shape';
import type { Spot } from './tool';

/* Rooms: pointed at within walls, or drawn; named at once. */

const USES =
  'living kitchen dining bedroom office bath hall stairs store utility garage workshop barn plant outdoor other'.split(
    ' ',
  );

type Way = 'within walls' | 'rectangle' | 'point by point';
const WAYS: Way[] = ['within walls', 'rectangle', 'point by point'];
let way: Way = 'within walls';

export class Room extends ShapeTool {
  private outline: Vec2[] | null = null; /* of the room that waits for its name */
  private found = '';
  private name = '';
  private use = '';
  private isNamed = false; /* Enter was pressed before the room was found */

  says(): string {
    if (this.outline) return `${this.found}. What do people call it?`;
    if (way === 'within walls') return 'Choose a spot between walls: the room is found around it.';
    return super.says();
  }

  head(): TemplateResult {
    const naming = this.outline
      ? html`<form class="tool-form" aria-label="the room that was found" @submit=${this.onName}>
          ${word('name', this.name, (v) => this.named(v), true)}
          ${choice('used as', this.use || 'other', asChoices(USES), (v) => (this.use = v))}
          <button class="main">keep the room</button>
          <button type="button" class="word" @click=${() => this.cancel()}>not this</button>
        </form>`
      : choices(
          'How the room is drawn',
          WAYS.map((w) => ({ value: w, word: w })),
          way,
          (w) => {
            way = w;
            this.cancel();
            this.board.redraw();
          },
        );
    return html`${naming} ${this.wrong()}`;
  }

  protected get rectangle(): boolean {
    return way === 'rectangle';
  }

  /* "Bath", "the old kitchen": the name tells the use. */
  private named(v: string): void {
    this.name = v;
    const found = USES.find((u) => u !== 'other' && v.toLowerCase().includes(u));
    if (found) this.use = found;
    this.board.redraw();
  }

  hover(spot: Spot, byKeys: boolean): void {
    if (this.outline) return;
    if (way !== 'within walls') return super.hover(spot, byKeys);
    if (byKeys)
      this.house.say(
        `${length(spot.at[0], settings.unit)} by ${length(spot.at[1], settings.unit)}; Enter looks for a room there`,
      );
  }

  tap(spot: Spot): void {
    if (this.outline || this.busy) return this.board.focusHead();
    if (way !== 'within walls') return super.tap(spot);
    const { d, floor } = this.stage;
    const there = d.rooms.find((r) => r.floor === floor.id && inside(r.outline, spot.at));
    if (!there) return void this.find(spot.at);
    this.house.set({ section: 'rooms', item: there.id });
    this.house.say(`That is ${there.name} already`);
  }

  private async find(at: Vec2): Promise<void> {
    const { floor } = this.stage;
    this.busy = true;
    this.name = '';
    this.use = '';
    this.isNamed = false;
    try {
      const q = query({ floor: floor.id, at: at.map((v) => v.toFixed(3)).join(',') });
      const { body } = await getJson<{ outline: Vec2[]; area_m2: number; by_edge: boolean }>(
        `${this.house.path}/enclosure?${q}`,
      );
      const edge = body.by_edge ? ', closed by the floor’s outline where no wall stands' : '';
      this.ask(body.outline, `A room of ${area(body.area_m2, settings.unit)}${edge}`);
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.problems = e.problems;
      this.house.say(e.message);
    }
    this.busy = false;
    this.board.redraw();
    if (this.isNamed) await this.write();
  }

  private ask(outline: Vec2[], told: string): void {
    this.outline = outline;
    this.found = told;
    this.problems = [];
    this.board.redraw();
    this.board.focusHead();
  }

  /* Whoever names it before the field for that has come is heard too. */
  key(e: KeyboardEvent, thing: Thing | null): boolean {
    if (e.ctrlKey || thing || !(this.outline || (this.busy && way === 'within walls'))) return super.key(e, thing);
    if (e.key.length === 1 && (this.name || e.key !== ' ')) this.named(this.name + e.key);
    else if (e.key === 'Backspace') this.named(this.name.slice(0, -1));
    else if (e.key === 'Enter' && this.outline) void this.write();
    else if (e.key === 'Enter') this.isNamed = true;
    else return false;
    return true;
  }

  protected finish(points: Vec2[]): Promise<boolean> {
    this.name = '';
    this.use = '';
    this.ask(points, 'A room as drawn');
    return Promise.resolve(true);
  }

  private onName = (e: Event): void => {
    e.preventDefault();
    void this.write();
  };

  private async write(): Promise<void> {
    if (!this.outline || this.busy) return;
    const id = freshIds(this.house, 'rooms', nameOf(this.name) || 'room_')[0];
    const value: Dict = { floor: this.stage.floor.id, use: this.use || 'other', outline: this.outline };
    const said = this.name.trim();
    this.busy = true;
    const kept = await this.keep(
      `room ${said || words(id)}`,
      addTo(this.house, 'rooms', [[id, said && said !== words(id) ? { says: said, ...value } : value]]),
    );
    this.busy = false;
    if (kept) {
      this.outline = null;
      this.board.focusDrawing();
    } else this.board.focusHead();
    this.board.redraw();
  }

  cancel(): boolean {
    const had = this.outline !== null || this.problems.length > 0;
    this.outline = null;
    this.problems = [];
    return super.cancel() || had;
  }

  layer(s: Stage): SVGTemplateResult {
    if (!this.outline) return super.layer(s);
    const [x, y] = s.onPlan(middle(this.outline));
    return svg`<g class="draft"><polygon class="drawn" points=${listed(this.outline.map((p) => s.onPlan(p)))}></polygon>
      ${this.name ? svg`<text class="room-name" x=${x} y=${y}>${this.name}</text>` : nothing}</g>`;
  }
}
