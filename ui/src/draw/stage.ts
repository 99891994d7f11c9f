import type { nothing, SVGTemplateResult } from 'lit';
import type {
  Drawing,
  DrawnDevice,
  DrawnEquipment,
  DrawnFloor,
  DrawnMount,
  DrawnNeighbour,
  DrawnSpot,
  Vec2,
  Vec3,
} from '../api/types';
import type { House } from '../state/house';
import { Names } from './names';
import { toScreen, type Projection, type Window } from './projection';

/* What a layer of the drawing gets: the house, how it is looked at, and from metres to the sheet's pixels. */

export type Thing = DrawnEquipment | DrawnDevice | DrawnMount | DrawnNeighbour | DrawnSpot;

/* Where the line enters: the house has one, and it needs no name. */
export const entryOf = (d: Drawing): DrawnSpot | null => d.line && { id: 'line', ...d.line };

export const thingsOf = (d: Drawing): Thing[] => [
  ...d.equipment,
  ...d.devices,
  ...d.mounts,
  ...d.neighbours,
  ...[entryOf(d)].filter((e) => e !== null),
];

export interface Size {
  w: number;
  h: number;
}

/* A thing that is being moved, and where it would stand. */
export interface Moving {
  thing: Thing;
  at: Vec2;
}

export class Stage {
  moving: Moving | null = null;
  readonly names: Names; /* words that stand already */
  cross: Vec2 | null = null; /* where the keyboard's cross stands on the plan */

  constructor(
    readonly house: House,
    readonly d: Drawing,
    readonly floor: DrawnFloor /* the plan's; floors apart shows all of them */,
    readonly kind: 'plan' | 'apart',
    readonly size: Size,
    readonly projection: Projection,
    readonly w: Window,
  ) {
    this.names = new Names(size.w);
  }

  get apart(): boolean {
    return this.kind === 'apart';
  }

  /* There is room for words beside the house. */
  get wide(): boolean {
    return isWide(this.size);
  }

  /* A point above the datum, on the sheet.  Floors apart draws it with its floor; `null`: with that of its height. */
  toScreen(at: Vec3, floor: string | null): Vec2 {
    return toScreen(this.w, this.projection.paper(at[0], at[1], at[2], floor));
  }

  /* A point of the plan, on the sheet. */
  onPlan([x, y]: Vec2): Vec2 {
    return toScreen(this.w, [x, -y]);
  }

  /* And back: what point of the plan lies under a pixel. */
  metres([x, y]: Vec2): Vec2 {
    return [(x - this.w.x) / this.w.scale, -(y - this.w.y) / this.w.scale];
  }

  /* Is it shown: all of the house, or what stands on the plan's floor. */
  shows(floor: string | null): boolean {
    return this.apart || floor === this.floor.id;
  }

  floorOf(id: string | null): DrawnFloor | undefined {
    return this.d.floors.find((f) => f.id === id);
  }

  /* Where a thing stands now, while it is moved too; what stands on a mount goes with it. */
  placeOf(thing: Thing): Vec3 | null {
    const moving = this.moving;
    if (!moving || !thing.at) return thing.at;
    const goes =
      moving.thing.path === thing.path || ('mount' in thing && moving.thing.path === `/mounts/${thing.mount}`);
    return goes ? [moving.at[0], moving.at[1], thing.at[2]] : thing.at;
  }
}

export const isWide = (size: Size): boolean => size.w > 760;

/* A layer draws what it shows, or nothing. */
export type Layer = (s: Stage) => SVGTemplateResult | typeof nothing | null;
