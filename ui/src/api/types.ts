import type { Problem } from './client';

/* The shapes of the server's answers, as far as the page reads them (docs/api.md, docs/json.md). */

export type Json = string | number | boolean | null | Json[] | { [key: string]: Json };
export type Dict = { [key: string]: Json };
export type Vec2 = [number, number];
export type Vec3 = [number, number, number];

export interface HouseEntry {
  name: string;
  title: string | null;
  can_be_read: boolean;
}

export interface ModelAnswer {
  revision: number;
  state: string; /* the tag of what is computed of it */
  can_be_read: boolean;
  problems: Problem[];
  house: Dict | null;
}

export interface StateAnswer {
  revision: number;
  what: string;
  changed_outside: boolean;
  can_be_read: boolean;
  problems: Problem[];
}

export type State = 'kept' | 'broken' | 'unknown';

export interface PromiseResult {
  id: string;
  kind: string;
  says: string;
  state: State;
  margin: number | null;
  unit: string;
  reason: string;
  evidence: Dict;
}

export interface Promises {
  house: string;
  estimate: string;
  promises: PromiseResult[];
  counts: { kept: number; broken: number; unknown: number };
}

export interface Revision {
  number: number;
  parent: number;
  at_s: number;
  what: string;
  kept?: number;
  broken?: number;
  unknown?: number;
}

export interface History {
  at: number;
  can_undo: boolean;
  can_redo: boolean;
  revisions: Revision[];
}

export interface Crossing {
  id: string;
  construct: string;
  loss_db: number;
  reflection: boolean;
  bend: boolean;
  place_m: Vec3;
}

export interface SignalPath {
  kind: 'direct' | 'reflected' | 'diffracted';
  order: number;
  length_m: number;
  level_dbm?: number;
  gain_db?: number;
  free_space_db?: number;
  crossings: Crossing[];
  points_m: Vec3[]; /* from the antenna to the spot, above the datum */
}

export interface Heard {
  id: string;
  band: string;
  level_dbm: number;
  promised_level_dbm: number;
  uplink_level_dbm: number;
  snr_db: number;
  phy_mbps: number;
  payload_mbps: number;
  paths: SignalPath[];
}

export interface SpotReport {
  spot: { floor: string; at_m: Vec3; where: string };
  device: string;
  availability: number;
  estimate: string;
  access_points: Heard[];
}

/* One thing on a packet's way. */
export interface Step {
  kind: 'device' | 'air' | 'cable' | 'access_point' | 'switch' | 'through' | 'gateway' | 'side';
  id: string;
  says: string;
  decides: boolean;
}

export interface Asked {
  verdict: string;
  rule: { number: number; line: number; statement: string; says: string } | null;
  way: string[];
  steps: Step[];
  when: string;
  reason: string;
}

export interface Failure {
  kind: string;
  id: string;
  says: string;
  broken: number;
  lost: { id: string; state: string; because: string }[];
  cables_lost: string[];
  line_lost: boolean;
  pictures_lost: string[];
  promises: { id: string; state: State; by_this: boolean; margin: number | null; unit: string; reason: string }[];
}

export interface Edit {
  op: 'set' | 'add' | 'remove' | 'rename';
  path: string;
  value?: Json;
}

/* ---- the drawing (`/drawing`) ---- */

export interface DrawnFloor {
  id: string;
  path: string;
  name: string;
  z_m: number;
  height_m: number;
  slab_m: number;
  open_air: boolean;
  outline: Vec2[];
  holes: { what: string; outline: Vec2[] }[];
}

export interface DrawnRoom {
  id: string;
  path: string;
  name: string;
  use: string;
  floor: string;
  area_m2: number;
  outline: Vec2[];
  centre: Vec2;
}

export interface DrawnOpening {
  id: string;
  path: string;
  kind: 'door' | 'window' | 'gap';
  stands_open: boolean;
  from_m: number;
  to_m: number;
  width_m: number;
  sill_m: number;
  head_m: number;
  line: [Vec2, Vec2];
}

export interface DrawnWall {
  id: string;
  path: string;
  floor: string;
  construct: string;
  thickness_m: number;
  base_m: number;
  top_m: number;
  line: Vec2[];
  openings: DrawnOpening[];
}

/* Something with a place on the plan. */
export interface DrawnSpot {
  id: string;
  path: string;
  floor: string | null;
  at: Vec3 | null;
}

export interface DrawnThing extends DrawnSpot {
  room: string | null;
}

/* A network of the neighbourhood, where it was heard; without a place it is heard all over the house. */
export interface DrawnNeighbour extends DrawnSpot {
  band: string;
  channel: number;
  width_mhz: number;
  level_dbm: number;
}

export interface DrawnMount extends DrawnThing {
  surface: string;
  use: string[];
  holds: string | null;
  faces_deg: number | null;
}

export interface DrawnEquipment extends DrawnThing {
  says: string;
  part: string | null;
  kind: string;
  mount: string;
  inside: string;
  movable: boolean;
  owned: boolean;
  radios: { band: string; channel: number; width_mhz: number; power_dbm: number; eirp_dbm: number }[];
}

export interface DrawnDevice extends DrawnThing {
  says: string;
  kind: string;
  link: string;
  has_place: boolean;
  carried: boolean;
  segment: string;
}

export interface DrawnCable {
  id: string;
  path: string;
  from: { what: string; port: number | null };
  to: { what: string; port: number | null };
  part: string;
  is_routed: boolean;
  why_not: string;
  length_m: number | null;
  stretches: { lies: string; run: string; floor: string | null; says: string; line: Vec3[] }[];
}

export interface Construct {
  id: string;
  says: string;
  thickness_m: number;
  is_built_in: boolean;
}

export interface Drawing {
  name: string;
  north_deg: number | null;
  problems: Problem[];
  bounds: [Vec3, Vec3];
  floors: DrawnFloor[];
  rooms: DrawnRoom[];
  walls: DrawnWall[];
  obstacles: {
    id: string;
    path: string;
    floor: string;
    outline?: Vec2[];
    line?: Vec2[];
    from_m: number;
    to_m: number;
    thickness_m: number;
  }[];
  planes: { id: string; path: string; kind: string; floor: string; outline: Vec3[] }[];
  runs: { id: string; path: string; name: string; kind: string; floors: string[]; outline?: Vec2[]; line?: Vec3[] }[];
  line: { path: string; floor: string | null; at: Vec3 | null } | null;
  mounts: DrawnMount[];
  equipment: DrawnEquipment[];
  devices: DrawnDevice[];
  neighbours: DrawnNeighbour[];
  cables: DrawnCable[];
  work: { kind: string; floor: string | null; at: Vec3 | null; says: string; cables: string[] }[];
}

/* Names that need not be declared (`/api/words`). */
export interface Words {
  constructs: { name: string; says: string }[];
  device_kinds: { name: string; says: string; has_radio: boolean }[];
  services: { name: string; says: string }[];
}

/* A field on one floor: rows from the south, columns from the west; NaN where it was not computed. */
export interface FieldGrid {
  floor: string;
  band: string;
  quantity: string;
  x_m: number;
  y_m: number;
  step_m: number;
  columns: number;
  rows: number;
  values: Float32Array;
}
