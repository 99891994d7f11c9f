import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { getJson, Refused, type Problem } from '../../api/client';
import type { Dict, DrawnRoom, Edit, Vec2 } from '../../api/types';
import { nearestWall, tidyNumber } from '../../draw/snap';
import { inside } from '../../draw/shapes';
import type { Stage } from '../../draw/stage';
import { addTo, freshIds, nameOf } from '../../state/build';
import { deviceKinds } from '../../state/words';
import { settings } from '../../state/settings';
import { length, words } from '../../units';
import { problemList } from '../parts';
import { asChoices, choice, word } from './fields';
import { Tool, type Spot } from './tool';

/* Things put where they belong by one tap; the rest of what is to be said of them stands in the form at the left, which opens. */

const GRID_M = 0.05;
const ON_WALL_M = 0.35;

interface Where {
  at: Vec2;
  room: DrawnRoom | null;
  faces: number | null; /* away from the wall that it is on */
}

abstract class Place extends Tool {
  protected problems: Problem[] = [];
  private aim: Where | null = null;

  protected abstract readonly what: string;
  protected abstract fields(): TemplateResult;
  /* What is written for a place: the section and name of what is then chosen, and the edits. */
  protected abstract put(w: Where): { section: string; id: string; edits: Edit[] } | null;

  says(): string {
    return `Choose where the ${this.what} is.`;
  }

  head(): TemplateResult {
    return html`${this.fields()}
    ${this.problems.length ? html`<div class="tool-wrong" role="alert">${problemList(this.problems, false)}</div>` : nothing}`;
  }

  protected again<T>(set: (v: T) => void): (v: T) => void {
    return (v) => {
      set(v);
      this.board.redraw();
    };
  }

  /* On the grid; near a wall before its face. */
  private where(spot: Spot): Where {
    const { d, floor } = this.stage;
    const step = spot.fine ? 0.01 : GRID_M;
    let at: Vec2 = [Math.round(spot.at[0] / step) * step, Math.round(spot.at[1] / step) * step];
    const on = nearestWall(d, floor.id, at);
    let faces: number | null = null;
    if (on && on.away < ON_WALL_M && on.away > 1e-6) {
      const across: Vec2 = [(spot.at[0] - on.at[0]) / on.away, (spot.at[1] - on.at[1]) / on.away];
      const off = Math.max(on.wall.thickness_m / 2 + 0.02, 0.05);
      faces = (Math.round((Math.atan2(across[0], across[1]) * 180) / Math.PI) + 360) % 360;
      at = [on.at[0] + across[0] * off, on.at[1] + across[1] * off];
    }
    at = [tidyNumber(at[0]), tidyNumber(at[1])];
    const room = d.rooms.find((r) => r.floor === floor.id && inside(r.outline, at)) ?? null;
    return { at, room, faces };
  }

  hover(spot: Spot, byKeys: boolean): void {
    this.aim = this.where(spot);
    if (byKeys) this.house.say(`${this.told(this.aim)}; Enter puts it there`);
    this.board.redraw();
  }

  private told(w: Where): string {
    const [x, y] = w.at.map((v) => length(v, settings.unit));
    return `${w.room?.name ?? 'in no room'}, ${x} by ${y}${w.faces === null ? '' : ', on the wall'}`;
  }

  tap(spot: Spot): void {
    const made = this.put(this.where(spot));
    if (made) void this.keep(made);
    else this.board.redraw();
  }

  private async keep(made: { section: string; id: string; edits: Edit[] }): Promise<void> {
    const outcome = await this.house.edit(`${words(made.id || this.what)} put in its place`, made.edits);
    this.problems = outcome.ok ? [] : outcome.problems;
    this.aim = null; /* what was put there has words of its own */
    if (outcome.ok) this.house.set({ section: made.section, item: made.id });
    this.board.redraw();
  }

  protected inRoom(w: Where): Dict {
    return w.room ? { room: w.room.id } : { floor: this.stage.floor.id };
  }

  cancel(): boolean {
    const had = this.problems.length > 0;
    this.problems = [];
    this.aim = null;
    return had;
  }

  layer(s: Stage): SVGTemplateResult | null {
    if (!this.aim) return null;
    const [x, y] = s.onPlan(this.aim.at);
    return svg`<g class="draft"><circle class="drawn-point" cx=${x} cy=${y} r="6"></circle>
      <text class="caught" x=${x + 12} y=${y + 5}>${this.told(this.aim)}</text></g>`;
  }
}

/* ---- mounts ---- */

const USES = 'access_point camera outlet cabinet'.split(' ');
let use = 'access_point';

function mountOf(w: Where, height_m: number, inRoom: Dict, uses: string[]): Dict {
  const wall = w.faces !== null;
  const z = wall ? (uses[0] === 'outlet' ? 0.3 : Math.min(2.1, height_m - 0.1)) : height_m - 0.02;
  return {
    ...inRoom,
    at_m: [...w.at, tidyNumber(z)],
    surface: uses[0] === 'cabinet' ? 'cabinet' : wall ? 'wall' : 'ceiling',
    ...(wall ? { faces_deg: w.faces } : {}),
    use: uses,
  };
}

export class MountTool extends Place {
  protected readonly what = 'mount';

  protected fields(): TemplateResult {
    return choice(
      'for',
      use,
      asChoices(USES),
      this.again((v) => (use = v)),
    );
  }

  protected put(w: Where): { section: string; id: string; edits: Edit[] } {
    const [id] = freshIds(
      this.house,
      'mounts',
      nameOf(`${w.room?.id ?? 'outside'} ${w.faces === null ? 'ceiling' : 'wall'}`),
    );
    const value = mountOf(w, this.stage.floor.height_m, this.inRoom(w), [use]);
    if (!w.room && this.stage.floor.open_air) value.outdoors = true;
    return { section: 'mounts', id, edits: addTo(this.house, 'mounts', [[id, value]]) };
  }
}

/* ---- devices ---- */

const LINKS = 'wifi wired mesh none'.split(' ');
const CARRIED = ['phone', 'tablet', 'laptop', 'work_laptop', 'watch'];
const device = { kind: 'laptop', link: 'wifi', name: '' };

export class DeviceTool extends Place {
  protected readonly what = 'device';

  protected fields(): TemplateResult {
    return html`${choice(
      'kind',
      device.kind,
      asChoices(deviceKinds()),
      this.again((v) => (device.kind = v)),
    )}
    ${choice(
      'by',
      device.link,
      asChoices(LINKS),
      this.again((v) => (device.link = v)),
    )}
    ${word(
      'name',
      device.name,
      this.again((v) => (device.name = v)),
    )}`;
  }

  protected put(w: Where): { section: string; id: string; edits: Edit[] } {
    const [id] = freshIds(this.house, 'devices', nameOf(device.name) || device.kind);
    const segments = Object.keys(this.house.section('segments'));
    const said = device.name.trim();
    const value: Dict = {
      ...(said && said !== words(id) ? { says: said } : {}),
      kind: device.kind,
      ...this.inRoom(w),
      at_m: [...w.at, 0.75],
      ...(CARRIED.includes(device.kind) ? { carried: true } : {}),
      ...(segments.length ? { segment: segments[0] } : {}),
      link: device.link,
    };
    device.name = '';
    return { section: 'devices', id, edits: addTo(this.house, 'devices', [[id, value]]) };
  }
}

/* ---- equipment ---- */

interface Part {
  id: string;
  kind: string;
  says?: string;
}

let part = '';

export class EquipmentTool extends Place {
  protected readonly what = 'equipment';
  private parts: Part[] | null = null;
  private asked = false;

  says(): string {
    if (this.parts && !this.parts.length) return 'There is no parts file yet: name one under “the house”.';
    return super.says();
  }

  protected fields(): TemplateResult {
    if (!this.asked) this.ask();
    const fits = (this.parts ?? []).filter((p) => FIXED.includes(p.kind));
    return html`${
      fits.length
        ? choice(
            'part',
            part,
            fits.map((p) => ({ value: p.id, word: `${words(p.kind)}: ${p.says || words(p.id)}` })),
            this.again((v) => (part = v)),
          )
        : nothing
    }`;
  }

  private ask(): void {
    this.asked = true;
    getJson<{ parts: Part[] }>(`${this.house.path}/parts`).then(
      (a) => {
        this.parts = a.body.parts;
        const fits = this.parts.filter((p) => FIXED.includes(p.kind));
        if (!fits.some((p) => p.id === part)) part = (fits.find((p) => p.kind === 'access_point') ?? fits[0])?.id ?? '';
        this.board.redraw();
      },
      (e: unknown) => {
        if (!(e instanceof Refused)) throw e;
        this.problems = e.problems;
        this.board.redraw();
      },
    );
  }

  /* An access point gets a mount of its own, or hangs where one is near. */
  protected put(w: Where): { section: string; id: string; edits: Edit[] } | null {
    const kind = this.parts?.find((p) => p.id === part)?.kind;
    if (!kind) return null;
    const [id] = freshIds(this.house, 'equipment', kind === 'access_point' ? 'access_point_' : kind);
    const inRoom = this.inRoom(w);
    if (kind !== 'access_point')
      return {
        section: 'equipment',
        id,
        edits: addTo(this.house, 'equipment', [[id, { part, ...inRoom, at_m: [...w.at, 0.4] }]]),
      };
    const near = this.stage.d.mounts.find(
      (m) =>
        m.floor === this.stage.floor.id && m.at && !m.holds && Math.hypot(m.at[0] - w.at[0], m.at[1] - w.at[1]) < 0.3,
    );
    const [mount] = near ? [near.id] : freshIds(this.house, 'mounts', `place_of_${id}`);
    const value: Dict = { part, mount, movable: true };
    return {
      section: 'equipment',
      id,
      edits: [
        ...(near
          ? []
          : addTo(this.house, 'mounts', [[mount, mountOf(w, this.stage.floor.height_m, inRoom, ['access_point'])]])),
        ...addTo(this.house, 'equipment', [[id, value]]),
      ],
    };
  }
}

const FIXED = 'access_point gateway switch injector converter cabinet recorder server ups'.split(' ');

/* ---- the line ---- */

const LINES = 'fibre cable dsl mobile fixed_wireless satellite other'.split(' ');
const line = { kind: 'fibre', down: '250', up: '50' };

export class LineTool extends Place {
  protected readonly what = 'line’s entry';

  private get isThere(): boolean {
    const v = this.house.data.line;
    return v !== undefined && v !== null;
  }

  protected fields(): TemplateResult {
    if (this.isThere) return html``;
    return html`${choice(
      'by',
      line.kind,
      asChoices(LINES),
      this.again((v) => (line.kind = v)),
    )}
    ${word(
      'Mb/s down',
      line.down,
      this.again((v) => (line.down = v)),
    )}
    ${word(
      'Mb/s up',
      line.up,
      this.again((v) => (line.up = v)),
    )}`;
  }

  protected put(w: Where): { section: string; id: string; edits: Edit[] } {
    const floor = this.stage.floor.id;
    const number = (t: string): number | string =>
      Number.isFinite(Number(t.replace(',', '.'))) ? Number(t.replace(',', '.')) : t;
    const at = [...w.at, 0.3];
    const has = (key: string): boolean => this.house.value(`/line/${key}`) !== undefined;
    const edits: Edit[] = this.isThere
      ? [
          { op: has('floor') ? 'set' : 'add', path: '/line/floor', value: floor },
          { op: has('at_m') ? 'set' : 'add', path: '/line/at_m', value: at },
        ]
      : [
          {
            op: this.house.data.line === undefined ? 'add' : 'set',
            path: '/line',
            value: { kind: line.kind, down_mbps: number(line.down), up_mbps: number(line.up), floor, at_m: at },
          },
        ];
    return { section: 'line', id: '', edits };
  }
}
