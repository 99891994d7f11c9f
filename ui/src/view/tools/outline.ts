import { html, type TemplateResult } from 'lit';
import type { Dict, Edit, Vec2 } from '../../api/types';
import { isOnOutline, nearestOn, tidyNumber } from '../../draw/snap';
import { addTo, addToList, freshIds } from '../../state/build';
import { constructs } from '../../state/constructs';
import { pointer } from '../../state/pointer';
import { choices } from '../parts';
import { asChoices, choice, made, measure, ROOFS, SOLIDS, word } from './fields';
import { ShapeTool } from './shape';
import type { Board } from './tool';

/* What is drawn as an area or a line besides walls and rooms: the floor itself, holes in it, roofs, solid things, cable ways. */

type Way = 'rectangle' | 'point by point';

abstract class Outline extends ShapeTool {
  protected readonly made;
  private way: Way = 'rectangle';

  constructor(board: Board) {
    super(board);
    this.made = constructs(board.house, () => board.redraw());
  }

  protected get rectangle(): boolean {
    return this.way === 'rectangle';
  }

  protected ways(): TemplateResult {
    const all: Way[] = ['rectangle', 'point by point'];
    return choices(
      'How it is drawn',
      all.map((value) => ({ value, word: value })),
      this.way,
      (w) => {
        this.way = w;
        this.cancel();
        this.board.redraw();
      },
    );
  }

  /* A field that is kept and shown anew. */
  protected field<T>(set: (v: T) => void): (v: T) => void {
    return (v) => {
      set(v);
      this.board.redraw();
    };
  }

  protected abstract fields(): TemplateResult;

  head(): TemplateResult {
    return html`${this.ways()} ${this.fields()} ${this.wrong()}`;
  }
}

/* ---- the floor ---- */

const SLAB_M = 0.3; /* of a new floor; its own slab says how thick it is, the level is what counts */

export class FloorTool extends Outline {
  says(): string {
    return this.points.length
      ? super.says()
      : `Draw the outline of ${this.stage.floor.name} anew, or add a floor on top.`;
  }

  protected fields(): TemplateResult {
    return html`<button type="button" class="word" @click=${() => void this.onTop()}>
      a floor on top, like this one
    </button>`;
  }

  protected finish(points: Vec2[]): Promise<boolean> {
    const { floor } = this.stage;
    return this.keep(`outline of ${floor.name}`, [
      { op: 'set', path: pointer('floors', floor.id, 'outline'), value: points },
    ]);
  }

  /* The same outline and the walls that stand on it, without their doors and windows. */
  private async onTop(): Promise<void> {
    const { d, floor } = this.stage;
    const id = freshIds(this.house, 'floors', d.floors.length === 1 ? 'upper' : 'floor_')[0];
    const top = Math.max(...d.floors.filter((f) => !f.open_air).map((f) => f.z_m + f.height_m));
    const under = d.floors.filter((f) => !f.open_air).find((f) => f.z_m + f.height_m === top) ?? floor;
    const value: Dict = {
      level_m: tidyNumber(top + SLAB_M),
      height_m: under.height_m,
      outline: under.outline,
      slab: 'timber_floor',
    };
    const walls = d.walls.filter(
      (w) => w.floor === under.id && w.line.slice(1).every((p, i) => isOnOutline(under, w.line[i], p)),
    );
    const names = freshIds(this.house, 'walls', `${id}_outer_wall_`, walls.length);
    const edits: Edit[] = [
      ...addTo(this.house, 'floors', [[id, value]]),
      ...(walls.length
        ? addTo(
            this.house,
            'walls',
            walls.map((w, i) => [names[i], { floor: id, construct: w.construct, line: w.line }]),
          )
        : []),
    ];
    if (await this.keep(`floor ${id} on top`, edits)) this.house.set({ floor: id });
  }
}

let hole = 'stairs';

export class Hole extends Outline {
  protected fields(): TemplateResult {
    return word('what it is', hole, (v) => (hole = v));
  }

  protected finish(points: Vec2[]): Promise<boolean> {
    const value: Dict = { what: hole.trim() || 'hole', outline: points };
    return this.keep(`${hole} in the floor`, [
      addToList(this.house, pointer('floors', this.stage.floor.id, 'holes'), value),
    ]);
  }
}

/* ---- roofs ---- */

const roof = { construct: 'roof_tiles', low: 1.0, high: 2.4 };

export class Roof extends Outline {
  says(): string {
    return this.points.length ? super.says() : 'Draw a slope, its lower edge first.';
  }

  protected fields(): TemplateResult {
    return html`${made(
      'of',
      roof.construct,
      this.made.list,
      ROOFS,
      this.field((v) => (roof.construct = v)),
    )}
    ${measure(
      'lower edge',
      roof.low,
      this.field((v) => (roof.low = v)),
    )}
    ${measure(
      'upper edge',
      roof.high,
      this.field((v) => (roof.high = v)),
    )}`;
  }

  /* The first side drawn is the lower edge; from it the sheet rises evenly. */
  protected finish(points: Vec2[]): Promise<boolean> {
    const [a, b] = points;
    const far = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const away = points.map((p) => Math.abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / far);
    const most = Math.max(...away, 1e-9);
    const outline = points.map((p, i) => [...p, tidyNumber(roof.low + ((roof.high - roof.low) * away[i]) / most)]);
    const [id] = freshIds(this.house, 'planes', 'slope_');
    return this.keep(
      `${id} drawn`,
      addTo(this.house, 'planes', [
        [id, { floor: this.stage.floor.id, construct: roof.construct, kind: 'roof', outline }],
      ]),
    );
  }
}

/* ---- solid things ---- */

const solid = { construct: 'furniture_full', from: 0, to: 2 };

export class Obstacle extends Outline {
  protected least = 2;

  says(): string {
    return this.points.length === 2 && !this.rectangle
      ? 'Go on round it; the same point again keeps a flat thing, such as a mirror.'
      : super.says();
  }

  protected fields(): TemplateResult {
    return html`${made(
      'of',
      solid.construct,
      this.made.list,
      SOLIDS,
      this.field((v) => (solid.construct = v)),
    )}
    ${measure(
      'from',
      solid.from,
      this.field((v) => (solid.from = v)),
    )}
    ${measure(
      'up to',
      solid.to,
      this.field((v) => (solid.to = v)),
    )}`;
  }

  protected finish(points: Vec2[]): Promise<boolean> {
    const { floor } = this.stage;
    const [id] = freshIds(this.house, 'obstacles', solid.construct);
    const value: Dict = { floor: floor.id, construct: solid.construct };
    value[points.length === 2 ? 'line' : 'outline'] = points;
    value.from_m = tidyNumber(solid.from);
    value.to_m = tidyNumber(Math.min(solid.to, floor.height_m));
    return this.keep(`${id} drawn`, addTo(this.house, 'obstacles', [[id, value]]));
  }
}

/* ---- cable ways ---- */

const RUNS = 'skirting ceiling_void under_floor duct surface riser attic trench'.split(' ');
const AREAS = ['ceiling_void', 'under_floor', 'attic'];
let run = 'skirting';
const FROM_WALL_M = 0.06;

export class Run extends ShapeTool {
  protected get rectangle(): boolean {
    return AREAS.includes(run);
  }

  says(): string {
    if (run === 'riser') return 'Choose where it goes up to the next floor.';
    if (this.rectangle) return super.says();
    if (!this.points.length) return 'Choose where the cable way begins.';
    return 'Go on; the same point again keeps it.';
  }

  head(): TemplateResult {
    return html`${choice('kind', run, asChoices(RUNS), (v) => {
      run = v;
      this.cancel();
      this.board.redraw();
    })}
    ${this.wrong()}`;
  }

  protected set(at: Vec2): void {
    this.least = run === 'riser' ? 1 : this.rectangle ? 3 : 2;
    this.closes = false;
    super.set(at);
    if (run === 'riser') void this.end(false);
  }

  protected finish(points: Vec2[]): Promise<boolean> {
    const { floor, d } = this.stage;
    const [id] = freshIds(this.house, 'runs', `${run}_`);
    const above = d.floors.filter((f) => !f.open_air && f.z_m > floor.z_m + 1).sort((a, b) => a.z_m - b.z_m)[0];
    if (run === 'riser' && !above) {
      this.problems = [
        {
          code: 'shape',
          is_warning: false,
          says: 'a riser leads to another floor, and there is none above',
          hint: null,
          line: null,
        },
      ];
      this.points = [];
      return Promise.resolve(false);
    }
    const value: Dict = { kind: run, floors: run === 'riser' ? [floor.id, above.id] : [floor.id] };
    if (this.rectangle) value.outline = points;
    else value.line = points.map((p) => [...this.offWall(p), tidyNumber(this.height(run))]);
    if (run === 'trench') value.outdoors = true;
    return this.keep(`${id} drawn`, addTo(this.house, 'runs', [[id, value]]));
  }

  /* Above the datum; as such things usually lie: common practice, no source. */
  private height(kind: string): number {
    const { z_m, height_m } = this.stage.floor;
    const above: Record<string, number> = {
      skirting: 0.06,
      surface: 0.06,
      duct: 0.3,
      trench: -0.5,
      riser: height_m / 2,
    };
    return z_m + (above[kind] ?? 0.1);
  }

  /* Cable lies before a wall, not in its middle: towards the room it was drawn for, or the middle of the floor. */
  private offWall(p: Vec2): Vec2 {
    const { d, floor } = this.stage;
    let [x, y] = p;
    for (const w of d.walls.filter((k) => k.floor === floor.id))
      for (let i = 0; i + 1 < w.line.length; i++) {
        const [a, b] = [w.line[i], w.line[i + 1]];
        const on = nearestOn(a, b, [x, y]);
        const need = w.thickness_m / 2 + FROM_WALL_M;
        const far = Math.hypot(b[0] - a[0], b[1] - a[1]);
        if (on.away >= need || far === 0 || on.along <= 0 || on.along >= far) continue;
        const across: Vec2 = [-(b[1] - a[1]) / far, (b[0] - a[0]) / far];
        const middle = this.middle();
        const side = (middle[0] - on.at[0]) * across[0] + (middle[1] - on.at[1]) * across[1] >= 0 ? 1 : -1;
        [x, y] = [on.at[0] + across[0] * side * need, on.at[1] + across[1] * side * need];
      }
    return [tidyNumber(x), tidyNumber(y)];
  }

  private middle(): Vec2 {
    const all = this.points.length > 2 ? this.points : this.stage.floor.outline;
    const sum = all.reduce<Vec2>((s, p) => [s[0] + p[0], s[1] + p[1]], [0, 0]);
    return [sum[0] / all.length, sum[1] / all.length];
  }
}
