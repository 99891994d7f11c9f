import type { SVGTemplateResult, TemplateResult } from 'lit';
import type { Vec2 } from '../../api/types';
import { SCALES, valueAt } from '../../draw/field';
import { inside } from '../../draw/shapes';
import type { Moving, Stage, Thing } from '../../draw/stage';
import { moveEdits } from '../../state/move';
import { settings } from '../../state/settings';
import { length, number, words } from '../../units';
import { Reshape } from './reshape';
import { ARROWS, Tool, type Board, type Spot } from './tool';

/* The tool that is there always: choose a thing, drag it elsewhere, ask what a spot hears. */
export class Choose extends Tool {
  private held: Moving | null = null;
  private readonly reshape: Reshape;
  private reshaping = false; /* what is dragged is a shape, no thing */

  constructor(board: Board) {
    super(board);
    this.reshape = new Reshape(board);
  }

  says(): string {
    return this.board.stage && this.reshape.active ? this.reshape.says() : '';
  }

  head(): TemplateResult | null {
    return this.board.stage && this.reshape.active ? this.reshape.head() : null;
  }

  layer(s: Stage): SVGTemplateResult | null {
    return this.reshape.active ? this.reshape.layer(s) : null;
  }

  get moving(): Moving | null {
    return this.held;
  }

  /* Whoever installs reads levels: a thumb near a device must not choose or drag it. */
  private get reads(): boolean {
    return this.house.look.side === 'install' && !this.stage.apart;
  }

  take(spot: Spot): boolean {
    const { thing } = spot;
    this.reshaping = !thing && this.reshape.active && this.reshape.take(spot);
    if (this.reshaping) return true;
    if (!thing?.at || this.stage.apart || this.reads) return false;
    this.held = { thing, at: [thing.at[0], thing.at[1]] };
    return true;
  }

  drag(spot: Spot): void {
    if (this.reshaping) this.reshape.drag(spot);
    else if (this.held) this.move(this.held.thing, spot.at);
  }

  drop(): void {
    if (this.reshaping) this.reshape.drop();
    else if (this.held) void this.keep(this.held);
  }

  tap(spot: Spot): void {
    const { at, path, element } = spot;
    this.held = null;
    if (this.reshape.active && this.reshape.tap(spot)) return;
    if (path && !this.reads && (this.stage.apart || this.house.look.side === 'change' || element?.closest('.things')))
      return this.choose(path);
    if (this.stage.apart) return;
    if (element) this.board.cross = null;
    if (inside(this.stage.floor.outline, at)) void this.house.listen(this.stage.floor.id, at);
  }

  hover({ at }: Spot, byKeys: boolean): void {
    if (!byKeys) return;
    const { d, floor } = this.stage;
    const room = d.rooms.find((r) => r.floor === floor.id && inside(r.outline, at));
    const g = this.house.fields.get(floor.id);
    const v = g ? valueAt(g, at[0], at[1]) : NaN;
    const heard = Number.isNaN(v) ? '' : `: ${number(v, 0)} ${SCALES[this.house.look.quantity]?.unit ?? ''}`;
    this.house.say(
      `${room?.name ?? 'outside the rooms'}, ${length(at[0], settings.unit)} by ${length(at[1], settings.unit)}${heard}`,
    );
  }

  /* Arrow keys move a thing, Enter keeps the place, Escape takes it back. */
  key(e: KeyboardEvent, thing: Thing | null): boolean {
    if (this.board.stage && this.reshape.active && this.reshape.key(e)) return true;
    if (!thing) return false;
    const step = ARROWS[e.key];
    if (step && thing.at && !this.stage.apart) {
      const far = e.shiftKey ? 0.5 : 0.1;
      const from: Vec2 = this.held?.thing.path === thing.path ? this.held.at : [thing.at[0], thing.at[1]];
      const to: Vec2 = [from[0] + step[0] * far, from[1] + step[1] * far];
      this.move(thing, to);
      this.house.say(
        `${words(thing.id)} at ${length(to[0], settings.unit)} by ${length(to[1], settings.unit)}; Enter keeps it`,
      );
      return true;
    }
    if (e.key === 'Enter' || e.key === ' ') {
      if (this.held?.thing.path === thing.path) void this.keep(this.held);
      else this.choose(thing.path);
      return true;
    }
    if (e.key !== 'Escape' || !this.held) return false;
    this.cancel();
    this.house.say(`${words(thing.id)} stays where it was`);
    return true;
  }

  cancel(): boolean {
    if (this.reshape.cancel()) return true;
    if (!this.held) return false;
    this.held = null;
    this.house.preview.end();
    this.board.redraw();
    return true;
  }

  private choose(path: string): void {
    const [, section, item] = path.split('/');
    this.house.set({ side: 'change', section, item: decodeURIComponent(item ?? '') });
  }

  private move(thing: Thing, at: Vec2): void {
    this.held = { thing, at };
    this.house.preview.show(thing, at);
    this.board.redraw();
  }

  private async keep(held: Moving): Promise<void> {
    const made = moveEdits(this.house, held.thing, held.at);
    const outcome = await this.house.edit(made.what, made.edits);
    if (this.held?.thing.path === held.thing.path) this.held = null;
    this.board.redraw();
    this.house.preview.end();
    if (!outcome.ok) this.house.say(`Not moved: ${outcome.problems[0]?.says ?? 'the place cannot be taken'}`);
  }
}
