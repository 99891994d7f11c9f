import { fetchRaw, getJson, postJson, Refused } from '../api/client';
import type { Vec2, Vec3 } from '../api/types';
import type { House } from './house';

/* The building site of an open house: what is to be done, what was ticked by whichever browser, and which levels were read. */

export interface CableEnd {
  what: string;
  port: number;
  room: string;
  place: string;
  label: string;
  label_far: string;
}
export interface InstallCable {
  id: string;
  group: string;
  lies_already: boolean;
  is_cord: boolean;
  from: CableEnd;
  to: CableEnd;
  length_m: number | null;
  kind: string;
  carries: string;
  feeds: string;
  way: string;
  floor: string | null;
  boxes: { box: string; says: string }[];
}
export interface InstallTest {
  promise: string;
  heading: string;
  says: string;
  state: string;
  how: string;
  note: string;
  rows: {
    box: string;
    number: number;
    where: string;
    device: string;
    band: string;
    passes: string;
    computed: string;
    at_least: number | null;
    at_most: number | null;
    unit: string;
    is_further: boolean;
  }[];
}
export interface Installation {
  cautions: string[];
  order: { box: string; says: string; minds: string }[];
  fix: {
    box: string;
    id: string;
    what: string;
    floor: string;
    at_m: Vec3 | null;
    where: string;
    how: string;
    arrives: string;
  }[];
  work: {
    box: string;
    mark: string;
    kind: string;
    floor: string | null;
    where: string;
    through: string;
    bit_mm: string;
    caution: string;
    cables: string[];
  }[];
  cables: InstallCable[];
  tests: InstallTest[];
}

export interface Done {
  box: string;
  is_ticked: boolean;
  note: string;
  read: number | null;
  passed: boolean | null;
  is_gone: boolean;
  name: string;
}

export interface Reading {
  number: number;
  floor: string;
  at_m: Vec3;
  where: string;
  access_point: string;
  band: string;
  level_dbm: number;
  expected_dbm: number | null;
  difference_db: number | null;
  is_gone: boolean;
  at_s: number;
  note: string;
  promises: { id: string; says: string; needed_dbm: number; passed: boolean }[];
}
interface Sum {
  compared: number;
  mean_db: number | null;
  rms_db: number | null;
}
export interface Readings extends Sum {
  device: string;
  estimate: string;
  readings: Reading[];
  by_access_point: (Sum & { access_point: string; band: string })[];
}

const EACH_MS = 4000;

export class Site {
  list: Installation | null = null;
  done = new Map<string, Done>();
  readings: Readings | null = null;
  trouble = '';
  private listOf = ''; /* the state it is of */
  private readingsOf = '';
  private state = ''; /* entity tag of what was done */
  private watchers = 0;
  private timer = 0;

  constructor(private readonly house: House) {}

  private async guard(work: () => Promise<void>): Promise<void> {
    try {
      await work();
      this.trouble = '';
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.trouble = e.message;
    }
    this.house.tell();
  }

  /* ---- the list ---- */

  /* Looked at every few seconds while somebody shows it, so that two telephones see one another's ticks. */
  watch(): void {
    if (this.watchers++) return;
    const look = (): void => {
      if (!document.hidden) void this.look();
    };
    this.timer = window.setInterval(look, EACH_MS);
    look();
  }

  unwatch(): void {
    if (--this.watchers === 0) window.clearInterval(this.timer);
  }

  private look(): Promise<void> {
    return this.guard(async () => {
      if (this.listOf !== this.house.state) {
        const { body, tag } = await getJson<Installation>(`${this.house.path}/installation`);
        this.list = body;
        this.listOf = tag;
      }
      await this.readDone();
    });
  }

  private async readDone(): Promise<void> {
    const response = await fetch(`${this.house.path}/installation/done`, {
      headers: this.state ? { 'If-None-Match': this.state } : {},
      credentials: 'same-origin',
      cache: 'no-store',
    });
    if (response.status === 304 || !response.ok) return;
    const { done } = (await response.json()) as { done: Done[] };
    this.state = response.headers.get('ETag') ?? '';
    this.done = new Map(done.map((d) => [d.box, d]));
  }

  mark(box: string, name: string, change: { is_ticked?: boolean; note?: string; read?: number | null }): Promise<void> {
    return this.guard(async () => {
      await postJson(`${this.house.path}/installation/done`, { box, name: name.slice(0, 300), ...change });
      await this.readDone();
    });
  }

  get gone(): Done[] {
    return [...this.done.values()].filter((d) => d.is_gone);
  }

  /* ---- levels that were read ---- */

  readReadings(anew = false): Promise<void> {
    if (!anew && this.readingsOf === this.house.state) return Promise.resolve();
    this.readingsOf = this.house.state;
    return this.guard(async () => {
      this.readings = (await getJson<Readings>(`${this.house.path}/readings`)).body;
    });
  }

  addReading(floor: string, at: Vec2, accessPoint: string, band: string, level: number, note: string): Promise<void> {
    return this.guard(async () => {
      await postJson(`${this.house.path}/readings`, {
        floor,
        at_m: [at[0], at[1]],
        access_point: accessPoint,
        band,
        level_dbm: level,
        note,
      });
      await this.readReadings(true);
    });
  }

  removeReading(number: number): Promise<void> {
    return this.guard(async () => {
      await fetchRaw('DELETE', `${this.house.path}/readings/${number}`);
      await this.readReadings(true);
    });
  }
}
