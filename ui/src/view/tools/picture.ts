import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { Refused, type Problem } from '../../api/client';
import type { Vec2 } from '../../api/types';
import { laidBy, scaledBy, toPixel, toPlace, type Placing } from '../../draw/placing';
import { path } from '../../draw/shapes';
import { below, onInk, reach, snap, targetsOf } from '../../draw/snap';
import type { Stage } from '../../draw/stage';
import { PICTURE_KINDS, type PictureChange, type PlanPicture } from '../../state/pictures';
import { settings } from '../../state/settings';
import { length, readLength } from '../../units';
import { choices, problemList } from '../parts';
import { choice } from './fields';
import { aimed, ARROWS, Tool, type Board, type Spot } from './tool';

/* A picture of the floor's plan: sent, set to scale by two points whose distance is known, moved, or laid by two points that it shares
   with the house; then the other tools draw over it. */

type Way = '' | 'scale' | 'move' | 'lay';

const WAYS: { value: Way; word: string }[] = [
  { value: 'scale', word: 'set to scale' },
  { value: 'move', word: 'move' },
  { value: 'lay', word: 'lay by two points' },
];

const LAY_SAYS = [
  'Choose a point on the picture, a corner that the house has too.',
  'Choose where that point lies in the house.',
  'Choose another point on the picture, far from the first.',
  'And where that lies.',
];

export class Picture extends Tool {
  private way: Way = '';
  private number = 0; /* of the one that is worked on */
  private points: Vec2[] = []; /* scale: pixels; lay: pixel, place, pixel, place */
  private grip: { at: Vec2; from: Placing } | null = null;
  private level = true;
  private problems: Problem[] = [];
  private busy = '';
  private aim: { at: Vec2; says: string } | null = null; /* where the next point falls */

  constructor(board: Board) {
    super(board);
    void board.house.pictures.read().then(() => board.redraw());
  }

  private get all(): PlanPicture[] {
    return this.house.pictures.on(this.board.stage?.floor.id ?? this.house.look.floor);
  }

  private get picture(): PlanPicture | undefined {
    const all = this.all;
    return all.find((p) => p.picture === this.number) ?? all[all.length - 1];
  }

  /* One that lies nowhere yet is set to scale first. */
  private get now(): Way {
    const p = this.picture;
    if (!p) return '';
    return this.way || this.house.pictures.isPlaced(p) ? this.way : 'scale';
  }

  private placing(p: PlanPicture): Placing {
    return this.house.pictures.placing(p, this.stage.floor);
  }

  get step_m(): number {
    return 0.25;
  }

  /* ---- the head ---- */

  says(): string {
    if (this.busy) return this.busy;
    if (!this.picture) return "Choose a picture of this floor's plan: a PNG, a JPEG or a PDF.";
    switch (this.now) {
      case 'scale':
        return (
          ['Choose two points on the picture whose distance you know.', 'Choose the second point.'][
            this.points.length
          ] ?? 'Say how far apart they are.'
        );
      case 'move':
        return 'Drag the picture, or move it by the arrow keys; Enter keeps it.';
      case 'lay':
        return LAY_SAYS[this.points.length] ?? '';
      default:
        return 'It lies to scale: draw over it with the other tools.';
    }
  }

  head(): TemplateResult {
    const p = this.picture;
    const all = this.all;
    return html`${
        p
          ? choices('What is done with the picture', WAYS, this.now, (way) => this.begin(way === this.way ? '' : way))
          : nothing
      }
      ${this.now === 'scale' && this.points.length === 2 ? this.distanceForm() : nothing}
      ${
        all.length > 1
          ? choice(
              'picture',
              String(p?.picture),
              all.map((x, i) => ({ value: String(x.picture), word: String(i + 1) })),
              (v) => this.choose(Number(v)),
            )
          : nothing
      }
      ${p && p.pages > 1 ? this.pageChoice(p) : nothing} ${p ? this.strength(p) : nothing}
      <label class="word tool-file"
        >${p ? 'another picture' : 'a picture from this machine'}
        <input
          class="unseen"
          type="file"
          accept=${PICTURE_KINDS}
          ?data-first=${!p}
          @change=${(e: Event) => void this.send(e.target as HTMLInputElement)}
      /></label>
      ${p ? html`<button type="button" class="word" @click=${() => void this.remove(p)}>remove it</button>` : nothing}
      ${this.problems.length ? html`<div class="tool-wrong" role="alert">${problemList(this.problems, false)}</div>` : nothing}`;
  }

  private distanceForm(): TemplateResult {
    return html`<form
      class="tool-form"
      aria-label="the scale of the picture"
      @submit=${(e: SubmitEvent) => void this.scale(e)}
    >
      <label class="tool-field"
        >they are apart
        <input name="distance" type="text" inputmode="decimal" size="6" required autocomplete="off" data-first />
        ${settings.unit}</label
      >
      <label class="tool-field"
        ><input
          type="checkbox"
          .checked=${this.level}
          @change=${(e: Event) => (this.level = (e.target as HTMLInputElement).checked)}
        />
        and level or upright</label
      >
      <button>set to scale</button>
    </form>`;
  }

  private pageChoice(p: PlanPicture): TemplateResult {
    const pages = Array.from({ length: p.pages }, (_, i) => String(i + 1));
    return choice(
      'page',
      String(p.page),
      pages.map((value) => ({ value, word: `${value} of ${p.pages}` })),
      (v) => void this.change(p, { page: Number(v) }, 'The page is drawn.'),
    );
  }

  private strength(p: PlanPicture): TemplateResult {
    return html`<label class="tool-field"
      >strength
      <input
        type="range"
        min="10"
        max="100"
        step="5"
        .value=${String(Math.round(p.opacity * 100))}
        aria-valuetext=${`${Math.round(p.opacity * 100)} per cent`}
        @input=${(e: Event) => {
          p.opacity = Number((e.target as HTMLInputElement).value) / 100;
          this.board.redraw();
        }}
        @change=${() => void this.change(p, { opacity: p.opacity })}
    /></label>`;
  }

  /* ---- what is done ---- */

  private begin(way: Way): void {
    this.give();
    this.way = way;
    this.problems = [];
    this.board.redraw();
    this.board.focusDrawing();
  }

  private choose(number: number): void {
    this.give();
    this.number = number;
    this.board.redraw();
  }

  /* Something that is asked of the server; its refusal is told. */
  private async ask(busy: string, what: () => Promise<void>): Promise<boolean> {
    this.busy = busy;
    this.problems = [];
    this.board.redraw();
    try {
      await what();
      return true;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.problems = e.problems;
      this.house.pictures.trying = null;
      return false;
    } finally {
      this.busy = '';
      this.board.redraw();
    }
  }

  private async send(input: HTMLInputElement): Promise<void> {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    const floor = this.stage.floor;
    const is = await this.ask('The picture is being read.', async () => {
      this.number = (await this.house.pictures.send(file, floor.id)).picture;
    });
    if (!is) return;
    this.begin('');
    this.house.say(`The picture lies on ${floor.name}. ${this.says()}`);
  }

  private change(p: PlanPicture, what: PictureChange, said = ''): Promise<boolean> {
    return this.ask('', async () => {
      await this.house.pictures.change(p, what);
      if (said) this.house.say(said);
    });
  }

  private async remove(p: PlanPicture): Promise<void> {
    this.give();
    if (await this.ask('', () => this.house.pictures.remove(p))) this.house.say('The picture is removed.');
  }

  private async scale(e: SubmitEvent): Promise<void> {
    e.preventDefault();
    const p = this.picture;
    const typed = String(new FormData(e.target as HTMLFormElement).get('distance') ?? '');
    const distance_m = readLength(typed, settings.unit) ?? 0;
    const [a, b] = this.points;
    if (!p || !b) return;
    if (!(distance_m > 0)) {
      this.problems = [problem('that is no distance', `a number above nought, in ${settings.unit}`)];
      this.board.redraw();
      return;
    }
    const placing = scaledBy(this.placing(p), a, b, distance_m, this.level);
    if (!(await this.change(p, { ...placing }))) return;
    this.begin('');
    this.house.say(`To scale: the picture is ${length(p.width_px * placing.m_per_px, settings.unit, 1)} wide.`);
  }

  private async lay(p: PlanPicture): Promise<void> {
    const [a, at_a, b, at_b] = this.points;
    this.points = [];
    const far = (q: Vec2, r: Vec2): number => Math.hypot(q[0] - r[0], q[1] - r[1]);
    if (far(a, b) < 1 || far(at_a, at_b) < 0.05) {
      this.problems = [problem('the two points lie on one another', 'take two that are far apart')];
      this.board.redraw();
      return;
    }
    if (!(await this.change(p, { ...laidBy(a, at_a, b, at_b) }))) return;
    this.begin('');
    this.house.say('The picture lies by its two points.');
  }

  /* ---- pointer and keys ---- */

  tap(spot: Spot): void {
    const p = this.picture;
    if (!p || this.busy) return;
    const now = this.now;
    if (now === 'scale' && this.points.length < 2) {
      this.points.push(toPixel(this.placing(p), this.onPicture(p, spot).at));
      const [a, b] = this.points;
      if (b && Math.hypot(b[0] - a[0], b[1] - a[1]) < 2) this.points.pop();
    } else if (now === 'lay') {
      this.points.push(
        this.points.length % 2 ? this.inHouse(spot).at : toPixel(this.placing(p), this.onPicture(p, spot).at),
      );
      if (this.points.length === 4) void this.lay(p);
    } else return;
    this.aim = null;
    if (!spot.element) this.house.say(this.says());
    this.board.redraw();
    if (now === 'scale' && this.points.length === 2) this.board.focusHead();
  }

  /* A corner of the house, or of the floor below, if one is near. */
  private inHouse(spot: Spot): { at: Vec2; says: string } {
    return snap(spot.at, targetsOf(this.stage.d, this.stage.floor), { scale: this.stage.w.scale, fine: spot.fine });
  }

  /* A corner or line of the picture, if one is near. */
  private onPicture(p: PlanPicture, { at, fine }: Spot): { at: Vec2; says: string } {
    if (fine) return { at, says: '' };
    const within = reach(this.stage.w.scale);
    const ink = this.house.pictures.withInk({ points: [], lines: [] }, this.stage.floor, at, within, [p]);
    return onInk(at, ink, within);
  }

  hover(spot: Spot, byKeys: boolean): void {
    const p = this.picture;
    const isAsked = p && ((this.now === 'scale' && this.points.length < 2) || this.now === 'lay');
    const inHouse = this.now === 'lay' && this.points.length % 2 === 1;
    this.aim = !isAsked ? null : inHouse ? this.inHouse(spot) : this.onPicture(p, spot);
    if (byKeys && this.aim?.says) this.house.say(this.aim.says);
    this.board.redraw();
  }

  take({ at }: Spot): boolean {
    const p = this.picture;
    if (!p || this.now !== 'move' || this.busy) return false;
    this.grip = { at, from: this.placing(p) };
    return true;
  }

  drag({ at }: Spot): void {
    const { grip, picture: p } = this;
    if (!grip || !p) return;
    const { from } = grip;
    this.house.pictures.try(p, { ...from, x_m: from.x_m + at[0] - grip.at[0], y_m: from.y_m + at[1] - grip.at[1] });
  }

  drop(): void {
    this.grip = null;
    void this.keep();
  }

  private async keep(): Promise<void> {
    const { trying } = this.house.pictures;
    const p = this.picture;
    if (p && trying) await this.change(p, { ...trying.placing }, 'The picture lies there now.');
  }

  key(e: KeyboardEvent, thing: unknown): boolean {
    const p = this.picture;
    const target = e.target as Element;
    if (thing || !p || this.now !== 'move' || !target.matches('svg.house')) return false;
    const step = ARROWS[e.key];
    if (step) {
      const far = e.shiftKey ? 1 : e.ctrlKey ? 0.01 : 0.1;
      const from = this.placing(p);
      this.house.pictures.try(p, { ...from, x_m: from.x_m + step[0] * far, y_m: from.y_m + step[1] * far });
      return true;
    }
    if (e.key !== 'Enter') return false;
    void this.keep();
    return true;
  }

  /* What is not kept yet is given up. */
  private give(): boolean {
    this.aim = null;
    const had = this.points.length > 0 || !!this.house.pictures.trying || this.way !== '';
    this.points = [];
    this.grip = null;
    this.way = '';
    this.house.pictures.trying = null;
    return had;
  }

  cancel(): boolean {
    if (!this.give()) return false;
    this.board.redraw();
    return true;
  }

  /* ---- its points ---- */

  /* The walls of the floor below: what two floors have in common is found there. */
  private under(s: Stage): SVGTemplateResult | typeof nothing {
    const lower = below(s.d, s.floor);
    if (!lower) return nothing;
    return svg`<g class="draft">${s.d.walls
      .filter((w) => w.floor === lower.id)
      .map((w) => svg`<path class="guide" d=${path(w.line.map((q) => s.onPlan(q)))}></path>`)}</g>`;
  }

  layer(s: Stage): SVGTemplateResult | null {
    const p = this.picture;
    const under = this.now === 'lay' ? this.under(s) : nothing;
    if (!p || (!this.points.length && !this.aim)) return svg`${under}`;
    const placing = this.placing(p);
    const isPlace = (i: number): boolean => this.now === 'lay' && i % 2 === 1;
    const at = this.points.map((q, i) => s.onPlan(isPlace(i) ? q : toPlace(placing, q)));
    const lines = this.now === 'lay' ? [at.slice(0, 2), at.slice(2, 4)] : [at];
    return svg`${under}<g class="draft">
      ${lines.filter((l) => l.length === 2).map((l) => svg`<path class="drawn" d=${path(l)}></path>`)}
      ${at.map(([x, y]) => svg`<circle class="drawn-point" cx=${x} cy=${y} r="4.5"></circle>`)}
      ${this.aim ? aimed(s, this.aim) : nothing}</g>`;
  }
}

const problem = (says: string, hint: string): Problem => ({ code: 'range', is_warning: false, says, hint, line: null });
