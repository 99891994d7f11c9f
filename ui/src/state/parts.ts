import { getJson, postJson, putText, Refused, type Problem } from '../api/client';
import type { Dict, Edit, History, Json, StateAnswer } from '../api/types';
import type { House, Outcome } from './house';
import { at } from './pointer';

/* The parts file that a house names: its parts, which houses need them, and its own history. */

interface PartsModel {
  revision: number;
  file: string;
  can_be_read: boolean;
  problems: Problem[];
  parts: Dict | null; /* the values of the file */
}

interface Tried extends StateAnswer {
  breaks?: { house: string; title: string; problems: Problem[] }[];
}

export interface Used {
  houses: { house: string; title: string; can_be_read: boolean; parts: { part: string; count: number }[] }[];
  bought: { part: string; count: number; unit: string }[] | null;
}

const isDict = (v: Json | undefined): v is Dict => v !== null && typeof v === 'object' && !Array.isArray(v);

export class Parts {
  model: PartsModel | null = null;
  trouble: Problem[] = []; /* why there are none */
  used: Used | null = null;
  history: History | null = null;
  private usedOf = '';

  constructor(private readonly house: House) {}

  private get path(): string {
    return `${this.house.path}/parts`;
  }

  get revision(): number {
    return this.model?.revision ?? 0;
  }

  get file(): string {
    return this.model?.file ?? '';
  }

  get currency(): string {
    const said = this.model?.parts?.currency;
    return typeof said === 'string' ? said : '';
  }

  /* By their short names, in the file's order. */
  get list(): [string, Dict][] {
    const all = this.model?.parts?.parts;
    return isDict(all) ? Object.entries(all).filter((e): e is [string, Dict] => isDict(e[1])) : [];
  }

  value(path: string): Json | undefined {
    return this.model?.parts ? at(this.model.parts, path) : undefined;
  }

  /* The file as it is now. */
  async read(): Promise<void> {
    try {
      this.model = (await getJson<PartsModel>(`${this.path}/model`)).body;
      this.trouble = [];
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.model = null;
      this.trouble = e.problems;
    }
    this.house.tell();
    if (this.model) await this.readHistory();
  }

  private async readHistory(): Promise<void> {
    try {
      this.history = (await getJson<History>(`${this.path}/revisions`)).body;
      this.house.tell();
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
    }
  }

  /* Which houses need what; only where somebody looks at it. */
  async readUsed(): Promise<void> {
    if (this.usedOf === this.house.state) return;
    this.usedOf = this.house.state;
    try {
      this.used = (await getJson<Used>(`${this.path}/used`)).body;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.used = null;
    }
    this.house.tell();
  }

  /* After a change the houses that name the file are others too. */
  private async changed(said: string): Promise<void> {
    this.house.said = this.house.did = said;
    await this.house.refresh();
  }

  /* Tried first: what would leave no parts file, or a house that cannot be read any more, is not written. */
  private async attempt(edits: Edit[]): Promise<Problem[]> {
    const tried = (await postJson<Tried>(`${this.path}/try`, { what: 'tried', edits })).body;
    if (!tried.can_be_read) return tried.problems.filter((p) => !p.is_warning);
    return (tried.breaks ?? []).map((b) => {
      const first = b.problems.find((p) => !p.is_warning) ?? b.problems[0];
      const says = `${b.title} could not be read any more: ${first?.says ?? 'no reason is known'}`;
      return { code: 'CONFLICT', is_warning: false, says, hint: 'change that house first', line: null, path: null };
    });
  }

  async edit(what: string, edits: Edit[], base = this.revision): Promise<Outcome> {
    try {
      if (this.model?.can_be_read) {
        const wrong = await this.attempt(edits).catch((e: unknown) => {
          if (!(e instanceof Refused) || !e.status) throw e;
          return []; /* it is refused below, as the change of an older file that it may be */
        });
        if (wrong.length) {
          this.house.say(`Not kept: ${wrong[0].says}`);
          return { ok: false, conflict: false, problems: wrong };
        }
      }
      const { body } = await postJson<StateAnswer>(`${this.path}/edits`, { what, edits }, base);
      await this.changed(`Kept: ${what}`);
      return { ok: true, conflict: false, problems: body.problems };
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.house.said = e.message;
      if (e.status === 409) await this.read();
      this.house.tell();
      return { ok: false, conflict: e.status === 409, problems: e.problems };
    }
  }

  /* The whole file as text: it may be what cannot be read, and is then said to be so. */
  async write(text: string, base: number): Promise<Outcome> {
    try {
      const { body } = await putText<StateAnswer>(`${this.path}/file`, text, base);
      await this.changed('The parts file was written');
      await this.read();
      return { ok: true, conflict: false, problems: body.problems };
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.house.say(e.message);
      return { ok: false, conflict: e.status === 409, problems: e.problems };
    }
  }

  private async step(way: 'undo' | 'redo'): Promise<void> {
    try {
      await postJson(`${this.path}/${way}`);
      await this.changed(way === 'undo' ? 'The parts one step back' : 'The parts one step forth');
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.house.say(e.message);
    }
  }

  undo = (): Promise<void> => this.step('undo');
  redo = (): Promise<void> => this.step('redo');
}
