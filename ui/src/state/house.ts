import { getJson, postJson, putText, query, Refused, type Answer, type Problem } from '../api/client';
import type {
  Asked,
  Dict,
  Drawing,
  Edit,
  Failure,
  FieldGrid,
  Heard,
  History,
  Json,
  ModelAnswer,
  PromiseResult,
  Promises,
  StateAnswer,
  SpotReport,
  Vec2,
} from '../api/types';
import { FieldStore, type Contour, type FieldAsk } from './field';
import type { Look, SheetView } from './look';
import { Parts } from './parts';
import { Pictures } from './pictures';
import { at, pointer } from './pointer';
import { Preview } from './preview';
import { number } from '../units';
import { Site } from './site';

/* One open house: what the server says of it, and what the user is looking at.  Views listen for `change`. */

/* Views that show the house with its fields. */
export const isDrawn = (view: SheetView): boolean => view === 'plan' || view === 'apart' || view === 'model';

/* On a telephone, whoever chooses a thing sees its form, and whoever chooses a view sees it; the evidence of a promise stands in the list. */
function pageOf(look: Partial<Look>): Partial<Look> {
  if (look.promise) return {};
  if (look.side || look.section !== undefined || look.item !== undefined) return { page: 'list' };
  return look.view || look.floor ? { page: 'sheet' } : {};
}

/* What an edit did to the promises, for whoever does not see the list; empty: nothing. */
function changedPromises(before: Promises, after: Promises): string {
  const was = new Map(before.promises.map((p) => [p.id, p.state]));
  const now = after.promises.filter((p) => was.has(p.id) && was.get(p.id) !== p.state);
  return (['broken', 'unknown', 'kept'] as const)
    .flatMap((state) => {
      const of = now.filter((p) => p.state === state);
      const n = of.length === 1 ? 'One promise' : `${of.length} promises`;
      return of.length ? [`${n} ${state} now: ${of.map((p) => p.says).join('; ')}`] : [];
    })
    .join('. ');
}

export interface Outcome {
  ok: boolean;
  conflict: boolean;
  problems: Problem[];
}

const DONE: Outcome = { ok: true, conflict: false, problems: [] };

/* A failure, as the server's query names it. */
export const failureName = (f: Failure): string => `${f.kind}:${f.id}`;

/* A path to the spot, by name. */
export const rayName = (heard: Heard, path: number): string => `${heard.id}|${heard.band}|${path}`;

export class House extends EventTarget {
  model: ModelAnswer | null = null;
  promises: Promises | null = null;
  promisesOf = ''; /* the state that they were judged in */
  private readonly coming = new Map<string, PromiseResult>(); /* those of a newer one, as far as they are judged */
  private comingOf = '';
  history: History | null = null;
  drawing: Drawing | null = null;
  drawingTrouble = '';
  fields = new Map<string, FieldGrid>(); /* by floor */
  contours = new Map<string, Contour[]>();
  fieldTrouble = '';
  fieldsComing = false;
  trouble: Problem[] = []; /* why the promises could not be judged */
  judging = false;
  spot: { floor: string; at: Vec2 } | null = null;
  report: SpotReport | null = null;
  spotTrouble = '';
  ray = ''; /* the path to the spot that is looked at: `access point|band|number` */
  asked: Asked | null = null; /* what was asked last, and the packet's way */
  step = -1; /* of that way, which is looked at */
  failures: Failure[] | null = null; /* every single one */
  failuresOf = ''; /* the state that they are of */
  job = 0; /* the design that was begun last */
  readonly pictures = new Pictures(this);
  readonly parts = new Parts(this);
  readonly preview = new Preview(this);
  said = ''; /* what was done last, for the live region */
  did = ''; /* the last change to the house, in the same words */
  look: Look = {
    side: 'promises',
    view: 'apart',
    band: '5',
    quantity: 'level',
    floor: '',
    promise: '',
    section: '',
    item: '',
    availability: '',
    estimate: '',
    device: '',
    only: '',
    failure: '',
    hidden: '',
    lifted: '',
    page: '',
    tool: '',
  };

  readonly site: Site;

  constructor(readonly name: string) {
    super();
    this.site = new Site(this);
  }

  get path(): string {
    return `/api/houses/${encodeURIComponent(this.name)}`;
  }

  get revision(): number {
    return this.model?.revision ?? 0;
  }

  /* Another whenever the house or its parts file is. */
  get state(): string {
    return this.model?.state ?? '';
  }

  get data(): Dict {
    return this.model?.house ?? {};
  }

  get title(): string {
    return typeof this.data.name === 'string' ? this.data.name : this.name;
  }

  get chosen(): PromiseResult | null {
    return this.judged.find((p) => p.id === this.look.promise) ?? null;
  }

  /* The promises as far as they are judged: each as it was told last. */
  get judged(): PromiseResult[] {
    if (this.promises) return this.promises.promises.map((p) => this.coming.get(p.id) ?? p);
    return Object.keys(this.section('promises')).flatMap((id) => this.coming.get(id) ?? []);
  }

  /* The thing that is chosen in the list of things, as edits name it. */
  get chosenPath(): string {
    const { side, section, item } = this.look;
    return side === 'change' && section && item && item !== '+' ? pointer(section, item) : '';
  }

  get hasField(): boolean {
    return this.bands.length > 0;
  }

  get bands(): string[] {
    const all = new Set((this.drawing?.equipment ?? []).flatMap((e) => e.radios.map((r) => r.band)));
    return ['2.4', '5', '6'].filter((b) => all.has(b));
  }

  /* What the chosen promise speaks of by name. */
  get marked(): Set<string> {
    const said = this.chosen?.reason ?? '';
    return new Set(said.split(/[^A-Za-z0-9_-]+/).filter((word) => word.length > 1));
  }

  section(name: string): Dict {
    const found = this.data[name];
    return found && typeof found === 'object' && !Array.isArray(found) ? found : {};
  }

  list(name: string): Json[] {
    const found = this.data[name];
    return Array.isArray(found) ? found : [];
  }

  value(pointer: string): Json | undefined {
    return at(this.data, pointer);
  }

  tell(): void {
    this.dispatchEvent(new Event('change'));
  }

  say(text: string): void {
    this.said = text;
    this.tell();
  }

  set(look: Partial<Look>): void {
    Object.assign(this.look, this.look.tool ? {} : pageOf(look), look); /* whoever draws stays at the sheet */
    void this.readFields();
    this.tell();
    this.dispatchEvent(new Event('look'));
  }

  async load(): Promise<void> {
    const bare = getJson<Drawing>(`${this.path}/drawing?cables=no`);
    this.ahead = getJson<Drawing>(`${this.path}/drawing`);
    this.ahead.catch(() => undefined); /* told where it is waited for */
    bare.then(this.drawBare, () => undefined); /* the whole one will say what is wrong */
    await this.readModel();
    void this.judge();
    void this.readHistory();
    void this.pictures.read();
  }

  private async readModel(): Promise<void> {
    const { body } = await getJson<ModelAnswer>(`${this.path}/model`);
    this.model = body;
    const floors = Object.keys(this.section('floors'));
    if (!floors.includes(this.look.floor)) this.look.floor = floors[0] ?? '';
    this.tell();
    void this.readDrawing();
    void this.readFields();
  }

  /* The drawing of a house that is being opened is asked for together with its model. */
  private ahead: ReturnType<typeof getJson<Drawing>> | null = null;

  /* The house stands before its cables are laid. */
  private drawBare = ({ body }: Answer<Drawing>): void => {
    if (this.drawing || this.drawingTrouble) return;
    this.drawing = body;
    this.tell();
  };

  private async readDrawing(): Promise<void> {
    try {
      const asked = this.ahead ?? getJson<Drawing>(`${this.path}/drawing`);
      this.ahead = null;
      this.drawing = (await asked).body;
      this.drawingTrouble = '';
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.drawingTrouble = `The house cannot be drawn: ${e.message}`;
      if (e.status !== 404) this.drawing = null;
    }
    this.tell();
    await this.readFields();
  }

  private readonly fieldStore = new FieldStore();
  private fieldsAsked = '';
  private sketching: Promise<unknown> = Promise.resolve(); /* until the quick fields are there */

  /* When what is seen first has come: the quick fields, or that there are none. */
  async sketched(): Promise<void> {
    await this.sketching;
  }

  /* Which floors have a field, before the drawing is there too. */
  private get fieldFloors(): string[] {
    return this.drawing?.floors.map((f) => f.id) ?? Object.keys(this.section('floors'));
  }

  private fieldAsk(floor: string): FieldAsk {
    const { quantity, band, availability, estimate, device, only, failure } = this.look;
    return { what: quantity, floor, band, availability, estimate, device, only, failed: failure };
  }

  /* The fields of what is looked at: of all floors, or of the plan's with its lines.  A quick one first, the whole one after it. */
  private async readFields(): Promise<void> {
    const { view, quantity, floor } = this.look;
    if (!isDrawn(view)) return;
    if (this.drawing && this.bands.length && !this.bands.includes(this.look.band))
      this.look.band = this.bands[this.bands.length > 1 ? 1 : 0];
    const flat = view === 'plan';
    const none = quantity === 'none' || (!!this.drawing && !this.bands.length);
    const asked = `${this.state}|${flat}|${none}|${query({ ...this.fieldAsk(flat ? floor : '') })}`;
    if (asked === this.fieldsAsked) return;
    this.fieldsAsked = asked;
    if (none) {
      this.fieldsComing = false;
      this.fields = new Map();
      this.contours = new Map();
      this.tell();
      return;
    }
    const wanted = flat ? [floor] : this.fieldFloors;
    const isNow = (): boolean => asked === this.fieldsAsked;
    this.fieldTrouble = '';
    this.fieldsComing = true;
    this.tell();
    try {
      const sketch = this.readEach(wanted, true, isNow);
      this.sketching = sketch.catch(() => undefined);
      await sketch;
      if (!isNow()) return;
      await this.readEach(wanted, false, isNow);
      if (!isNow()) return;
      if (flat) {
        const lines = await this.fieldStore.contours(this.path, this.state, this.fieldAsk(floor));
        if (!isNow()) return;
        this.contours = new Map([[floor, lines]]);
      }
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      if (!isNow()) return;
      this.fields = new Map();
      this.contours = new Map();
      this.fieldTrouble = `No field: ${e.message}`;
    }
    this.fieldsComing = false;
    this.tell();
  }

  /* Something else is painted over them. */
  readFieldsAnew(): void {
    this.fieldsAsked = '';
    void this.readFields();
  }

  /* One pass over the floors.  A floor that has no field (no outline yet) shows none. */
  private async readEach(floors: string[], quick: boolean, isNow: () => boolean): Promise<void> {
    const { only, failure } = this.look;
    if (quick && (only || failure)) return;
    const fields = new Map<string, FieldGrid>();
    const contours = this.contours;
    const read = async (floor: string): Promise<void> => {
      const grid = await this.fieldStore.field(this.path, this.state, this.fieldAsk(floor), quick);
      if (grid) fields.set(floor, grid);
    };
    /* the first whole one brings those of all; it takes its time, and until then only one of the browser's few connections waits */
    if (!quick && floors.length) await read(floors[0]);
    await Promise.all(floors.slice(quick ? 0 : 1).map(read));
    if (!isNow()) return;
    this.fields = fields;
    if (this.contours === contours) this.contours = new Map();
    this.tell();
  }

  /* Each promise as soon as it is judged; ends when all are, and also when something is wrong, which the whole answer will tell. */
  private hearPromises(): Promise<void> {
    const events = new EventSource(`${this.path}/promises/events`);
    let isTold = true;
    events.addEventListener('promise', (e) => {
      const said = JSON.parse((e as MessageEvent<string>).data) as { state: string; promise: PromiseResult };
      if (said.state !== this.comingOf) this.coming.clear();
      this.comingOf = said.state;
      this.coming.set(said.promise.id, said.promise);
      if (!isTold) return;
      isTold = false;
      requestAnimationFrame(() => {
        isTold = true;
        this.tell();
      });
    });
    return new Promise((resolve) => {
      for (const last of ['done', 'problems', 'error'])
        events.addEventListener(last, () => {
          events.close();
          resolve();
        });
    });
  }

  /* Asks for the promises until those of the present revision have come; one question at a time. */
  async judge(): Promise<void> {
    if (this.judging) return;
    this.judging = true;
    this.tell();
    try {
      let wanted: string;
      do {
        wanted = this.state;
        await this.sketching; /* what is seen comes first */
        try {
          await this.hearPromises();
          const { body, tag } = await getJson<Promises>(`${this.path}/promises`);
          if (this.promises && tag !== this.promisesOf) {
            /* said behind the change, which might not have been read yet */
            const news = changedPromises(this.promises, body);
            if (news) this.said = this.did ? `${this.did}. ${news}` : news;
          }
          this.did = '';
          this.promises = body;
          this.promisesOf = tag;
          this.coming.clear();
          this.trouble = [];
        } catch (e) {
          if (!(e instanceof Refused)) throw e;
          this.trouble = e.problems;
          this.promisesOf = wanted;
        }
      } while (wanted !== this.state);
    } finally {
      this.judging = false;
      this.tell();
    }
    void this.readHistory(); /* it says how the promises stood */
    if (this.look.failure && this.failuresOf !== this.state) await this.readFailures().catch(() => undefined);
  }

  /* Every single failure, of the present state; problems are the caller's. */
  async readFailures(): Promise<void> {
    const { body, tag } = await getJson<{ failures: Failure[] }>(`${this.path}/failures`);
    this.failures = body.failures;
    this.failuresOf = tag;
    this.tell();
  }

  /* The failure that is looked at; null: none, or it is not known yet. */
  get failure(): Failure | null {
    return this.failures?.find((f) => failureName(f) === this.look.failure) ?? null;
  }

  async readHistory(): Promise<void> {
    try {
      this.history = (await getJson<History>(`${this.path}/revisions`)).body;
      this.tell();
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
    }
  }

  /* After any change, and when another tab or an editor may have changed the file.  The promises follow when they are judged: whoever
     made a change need not wait for them. */
  async refresh(): Promise<void> {
    const before = this.state;
    try {
      await this.readModel();
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.say(e.message); /* what was changed is kept all the same */
      return;
    }
    if (!document.hidden) this.follow();
    if (this.state === before && this.promises) return;
    this.dispatchEvent(new Event('moved'));
    if (this.parts.model) await this.parts.read();
    /* nobody waits for these: what was changed is kept, and the judgement of it may take its time */
    void this.judge();
    void this.readHistory();
    if (this.spot) void this.listen(this.spot.floor, this.spot.at);
  }

  /* ---- what happens to it elsewhere ---- */

  private following: EventSource | null = null;
  private isClosed = false;
  private heard = ''; /* the state that was told last */
  private missed = false; /* something was told while this page changed the house */
  private changing = 0; /* changes of this page under way, which read the state themselves */

  /* Hears of every change, by another tab or an editor, while the page is seen; a stream that breaks off is begun again with the next
     refresh. */
  follow(): void {
    if (this.following || this.isClosed) return;
    const events = (this.following = new EventSource(`${this.path}/changes/events`));
    for (const name of ['state', 'changed'])
      events.addEventListener(name, (e) => {
        this.heard = (JSON.parse((e as MessageEvent<string>).data) as { state: string }).state;
        this.catchUp();
      });
    events.addEventListener('error', () => {
      events.close();
      if (this.following === events) this.following = null;
    });
  }

  leave(): void {
    this.following?.close();
    this.following = null;
  }

  /* For good: what still comes to it follows it no more. */
  close(): void {
    this.isClosed = true;
    this.leave();
  }

  private catchUp(): void {
    if (this.changing) this.missed = true;
    else if (this.heard !== this.state) void this.refresh().catch(() => undefined);
  }

  /* While it runs nothing that is heard is read: whoever changes the house reads it. */
  private async alone<T>(deed: () => Promise<T>): Promise<T> {
    this.changing++;
    try {
      return await deed();
    } finally {
      this.changing--;
      if (this.missed && !this.changing) {
        this.missed = false;
        this.catchUp();
      }
    }
  }

  private change(asked: () => Promise<StateAnswer>, said: string): Promise<Outcome> {
    return this.alone(() => this.changeAlone(asked, said));
  }

  private async changeAlone(asked: () => Promise<StateAnswer>, said: string): Promise<Outcome> {
    try {
      const state = await asked();
      this.said = this.did = said || state.what;
      await this.refresh();
      return { ...DONE, problems: state.problems };
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.said = e.message;
      this.tell();
      if (e.status === 409) await this.refresh();
      return { ok: false, conflict: e.status === 409, problems: e.problems };
    }
  }

  /* What edits would lead to; nothing is written. */
  async attempt(edits: Edit[]): Promise<Outcome> {
    const state = (await postJson<StateAnswer>(`${this.path}/try`, { what: 'tried', edits })).body;
    const wrong = state.problems.filter((p) => !p.is_warning);
    return state.can_be_read ? { ...DONE, problems: state.problems } : { ok: false, conflict: false, problems: wrong };
  }

  /* Edits, all or none.  They are tried first: a change after which the file is no house any more never reaches it, and what is wrong is
     the answer; a house that could not be read before may be mended step by step. */
  edit(what: string, edits: Edit[], base = this.revision): Promise<Outcome> {
    return this.alone(() => this.editAlone(what, edits, base));
  }

  private async editAlone(what: string, edits: Edit[], base: number): Promise<Outcome> {
    const couldBeRead = this.model?.can_be_read ?? false;
    let state: StateAnswer;
    try {
      if (couldBeRead) {
        const tried = await this.attempt(edits).catch((e: unknown) => {
          if (!(e instanceof Refused) || !e.status) throw e;
          return DONE; /* it is refused below, as the change of an older house that it may be */
        });
        if (!tried.ok) {
          this.say(`Not kept: ${tried.problems[0]?.says ?? 'the file would be no house any more'}`);
          return tried;
        }
      }
      state = (await postJson<StateAnswer>(`${this.path}/edits`, { what, edits }, base)).body;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.said = e.message;
      this.tell();
      if (e.status === 409) await this.refresh();
      return { ok: false, conflict: e.status === 409, problems: e.problems };
    }
    if (couldBeRead && !state.can_be_read) {
      await postJson(`${this.path}/undo`);
      this.said = `Not kept: ${state.problems.find((p) => !p.is_warning)?.says ?? 'the file would be no house any more'}`;
      await this.refresh();
      return { ok: false, conflict: false, problems: state.problems.filter((p) => !p.is_warning) };
    }
    this.said = this.did = `Kept: ${what}`;
    await this.refresh();
    return { ...DONE, problems: state.problems };
  }

  undo = (): Promise<Outcome> =>
    this.change(async () => (await postJson<StateAnswer>(`${this.path}/undo`)).body, 'One step back');
  redo = (): Promise<Outcome> =>
    this.change(async () => (await postJson<StateAnswer>(`${this.path}/redo`)).body, 'One step forth');
  restore = (number: number): Promise<Outcome> =>
    this.change(
      async () => (await postJson<StateAnswer>(`${this.path}/revisions/${number}/restore`)).body,
      `Back at revision ${number}`,
    );
  write = (text: string, base: number): Promise<Outcome> =>
    this.change(async () => (await putText<StateAnswer>(`${this.path}/file`, text, base)).body, 'The file was written');

  /* What one spot hears. */
  async listen(floor: string, spot: Vec2): Promise<void> {
    this.spot = { floor, at: spot };
    void this.site.readReadings();
    this.tell();
    try {
      const { device, availability } = this.look;
      const q = query({ floor, at: spot.map((v) => v.toFixed(3)).join(','), paths: 6, device, availability });
      const { body } = await getJson<SpotReport>(`${this.path}/signal?${q}`);
      if (this.spot?.floor !== floor || this.spot.at !== spot) return;
      this.report = body;
      this.ray = body.access_points[0]?.paths.length ? rayName(body.access_points[0], 0) : '';
      this.spotTrouble = '';
      const best = body.access_points[0];
      this.said = best
        ? `${body.spot.where}: ${best.id} at ${number(best.level_dbm, 0)} dBm`
        : `${body.spot.where}: no access point is heard`;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.report = null;
      this.spotTrouble = e.message;
    }
    this.tell();
  }

  forgetSpot(): void {
    this.spot = null;
    this.ray = '';
    this.report = null;
    this.spotTrouble = '';
    this.tell();
  }
}
