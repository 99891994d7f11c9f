import { nothing, svg, type SVGTemplateResult } from 'lit';
import type { DrawnDevice, DrawnEquipment, DrawnMount, DrawnRoom, Vec2, Vec3 } from '../api/types';
import { northArrow } from '../draw/plan';
import { diamond, note } from '../draw/shapes';
import { isWide, type Size } from '../draw/stage';
import type { House } from '../state/house';
import { words } from '../units';
import { said, witness } from '../view/layers/evidence';
import type { Model } from './model';
import type { Orbit } from './orbit';
import type { Stage } from './stage';

/* Words and marks over the picture of the model, in the sheet's own shapes: always upright, always as large as text is. */

const NEAR_PX = 14;
const ROOM_PX2 = 2300; /* a room smaller than this is not named */

interface Scene {
  house: House;
  stage: Stage;
  model: Model;
  hidden: ReadonlySet<string>;
  taken: [number, number, number, number][]; /* where words stand already */
}

/* Where it is seen, and whether a floor stands before it. */
interface Seen {
  at: Vec2;
  behind: boolean;
}

/* Null: not at all. */
function seen(s: Scene, p: Vec3, floor: string | null): Seen | null {
  if (floor !== null && s.hidden.has(floor)) return null;
  const place = s.model.place(p, floor);
  const at = s.stage.seen(place);
  return at && { at, behind: s.stage.isHidden(place) };
}

/* Words are left out where others stand. */
function free(s: Scene, x: number, y: number, text: string, em: number): boolean {
  const wide = text.length * em * 0.56;
  const box: [number, number, number, number] = [x, y - em, x + wide, y + 3];
  if (s.taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1])) return false;
  s.taken.push(box);
  return true;
}

type Thing = DrawnEquipment | DrawnDevice | DrawnMount;

function things(house: House): Thing[] {
  const d = house.drawing;
  if (!d) return [];
  return [
    ...d.equipment.filter((e) => !e.inside),
    ...d.devices.filter((v) => house.marked.has(v.id) || house.chosenPath === v.path),
    ...d.mounts.filter((m) => !m.holds),
  ].filter((t) => t.at);
}

/* The thing whose mark is nearest to a pixel; '' where there is none. */
export function thingAt(house: House, stage: Stage, hidden: ReadonlySet<string>, [x, y]: Vec2): string {
  const s: Scene = { house, stage, model: stage.model as Model, hidden, taken: [] };
  let best = '',
    least = NEAR_PX;
  for (const t of things(house)) {
    const p = seen(s, t.at as Vec3, t.floor);
    const far = p && !p.behind ? Math.hypot(p.at[0] - x, p.at[1] - y) : Infinity;
    if (far < least) [best, least] = [t.path, far];
  }
  return best;
}

function thing(s: Scene, t: Thing, p: Seen): SVGTemplateResult {
  const [x, y] = p.at;
  const { house } = s;
  const isMount = 'surface' in t;
  const isEquipment = 'radios' in t;
  const chosen = house.chosenPath === t.path || (isEquipment && !!t.mount && house.chosenPath === `/mounts/${t.mount}`);
  const marked = house.marked.has(t.id);
  const kind = isMount ? 'mount' : isEquipment ? 'equipment' : 'device';
  const name = 'says' in t && !isEquipment ? t.says || words(t.id) : words(t.id);
  const isNamed = !p.behind && (isEquipment || chosen || marked) && free(s, x + 12, y + 4, name, 11);
  const shape = isMount
    ? svg`<path d=${`M${x - 4} ${y}H${x + 4}M${x} ${y - 4}V${y + 4}`}></path>`
    : !isEquipment
      ? svg`<circle class="dot" cx=${x} cy=${y} r=${chosen ? 5 : 3.2}></circle>`
      : t.radios.length || t.kind === 'access_point'
        ? svg`<path class="access-point" d=${diamond([x, y], 8, 0.62)}></path>`
        : svg`<rect class="box" x=${x - 5} y=${y - 5} width="10" height="10"></rect>`;
  return svg`<g class=${`${kind}${chosen ? ' is-chosen' : ''}${marked ? ' is-marked' : ''}${p.behind ? ' is-behind' : ''}`}>
    <circle class="hit" cx=${x} cy=${y} r="13"></circle>${shape}
    ${isNamed ? svg`<text class="tag" x=${x + 12} y=${y + 4}>${name}</text>` : nothing}</g>`;
}

/* Is a room large enough on the picture to be named in it? */
function room(s: Scene, r: DrawnRoom): SVGTemplateResult | typeof nothing {
  const z = s.model.d.floors.find((f) => f.id === r.floor)?.z_m ?? 0;
  const on = (x: number, y: number): Vec2 | null => s.stage.seen(s.model.place([x, y, z], r.floor));
  const [x, y] = r.centre;
  const p = seen(s, [x, y, z + 0.1], r.floor);
  const [o, a, b] = [on(x, y), on(x + 1, y), on(x, y + 1)];
  if (!p || p.behind || !o || !a || !b) return nothing;
  const square = Math.abs((a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]));
  if (square * r.area_m2 < ROOM_PX2 || !free(s, p.at[0] - r.name.length * 3.2, p.at[1] + 4, r.name, 11.5))
    return nothing;
  return svg`<text class=${s.house.fields.has(r.floor) ? 'room-name on-field' : 'room-name'}
    x=${p.at[0]} y=${p.at[1] + 4}>${r.name}</text>`;
}

/* Where a word begins beside a corner, so that the sheet's edge does not cut it. */
const leftOf = (x: number, wide: number): number => (x > 0 ? Math.max(x - 12, wide + 8) : x - 12) - wide;
const rightOf = (x: number, wide: number, size: Size): number => Math.min(x + 12, size.w - wide - 8);

/* A floor's name stands left of its leftmost corner, or right of its rightmost where it would stand on a floor else; a garden's where
   there is room for it. */
function floors(s: Scene, size: Size, open_air: boolean): (SVGTemplateResult | typeof nothing)[] {
  return s.model.d.floors.map((f) => {
    if (f.open_air !== open_air || s.hidden.has(f.id)) return nothing;
    const corners = f.outline.flatMap(([x, y]) => {
      const at = s.stage.seen(s.model.place([x, y, f.z_m], f.id));
      return at ? [at] : [];
    });
    if (!corners.length) return nothing;
    const em = isWide(size) ? 18 : 13;
    const wide = f.name.length * em * 0.5;
    const left = corners.reduce((m, q) => (q[0] < m[0] ? q : m));
    const right = corners.reduce((m, q) => (q[0] > m[0] ? q : m));
    const places: Vec2[] = [
      [leftOf(left[0], wide), left[1]],
      [rightOf(right[0], wide, size), right[1]],
    ];
    const isOnFloor = ([x, y]: Vec2): boolean => [0, wide / 2, wide].some((dx) => s.stage.hit([x + dx, y]) !== null);
    const [x, y] = places.find((p) => !isOnFloor(p)) ?? places[0];
    if (!free(s, x, y + 5, f.name, em * 0.9)) return nothing;
    return svg`<text class="floor-name" x=${x} y=${y + 5}>${f.name}</text>`;
  });
}

function worst(s: Scene, size: Size): SVGTemplateResult | typeof nothing {
  const w = witness(s.house, null);
  const chosen = s.house.chosen;
  const p = w && seen(s, w.at, w.floor);
  if (!w || !p || !chosen) return nothing;
  const broken = chosen.state === 'broken';
  if (!isWide(size))
    return svg`<g class=${broken ? 'note is-broken' : 'note'}>
      <circle class="spot" cx=${p.at[0]} cy=${p.at[1]} r="7"></circle></g>`;
  const { head, lines } = said(chosen);
  const x = Math.min(Math.max(p.at[0] + 90, size.w - 268), size.w - 240);
  const y = Math.min(Math.max(p.at[1] - 40, 60), size.h - 190);
  return note(p.at, [x, y], head, lines, broken);
}

function asked(s: Scene): SVGTemplateResult | typeof nothing {
  const { spot } = s.house;
  const end = spot && s.model.spotHeight(spot.floor, spot.at);
  const p = spot && end ? seen(s, end, spot.floor) : null;
  if (!p) return nothing;
  return svg`<g class=${p.behind ? 'is-behind' : ''}>
    <circle class="asked-spot" cx=${p.at[0]} cy=${p.at[1]} r="6"></circle>
    <circle class="asked-spot-dot" cx=${p.at[0]} cy=${p.at[1]} r="1.5"></circle></g>`;
}

/* North as it lies on the floor, seen from where the eye is. */
function north(s: Scene, orbit: Orbit, size: Size): SVGTemplateResult | typeof nothing {
  const deg = s.model.d.north_deg;
  if (deg === null) return nothing;
  return northArrow(orbit.onScreen_deg(deg), size.w - 34, 40);
}

export function labels(
  house: House,
  stage: Stage,
  orbit: Orbit,
  hidden: ReadonlySet<string>,
  size: Size,
): SVGTemplateResult {
  const s: Scene = { house, stage, model: stage.model as Model, hidden, taken: [] };
  const marked = things(house).flatMap((t) => {
    const p = seen(s, t.at as Vec3, t.floor);
    return p ? [{ t, p }] : [];
  });
  /* no word stands on a mark */
  for (const { p } of marked) if (!p.behind) s.taken.push([p.at[0] - 8, p.at[1] - 6, p.at[0] + 8, p.at[1] + 6]);
  const marks = marked.map(({ t, p }) => thing(s, t, p));
  const names = floors(s, size, false);
  const rooms = s.model.d.rooms.map((r) => room(s, r));
  return svg`${rooms}${names}${floors(s, size, true)}<g class="things">${marks}</g>${asked(s)}${worst(s, size)}${north(s, orbit, size)}`;
}
