import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { Refused } from '../api/client';
import type { Dict, Edit, Json } from '../api/types';
import { allMissing, type Missing } from '../state/missing';
import { asText, pointer } from '../state/pointer';
import { differences, itemOf, plain, schema, shapeOf, type Schema } from '../state/schema';
import { ADDED, mentions, NEEDED, renamed } from '../state/sections';
import { words } from '../units';
import { refocus } from './base';
import { DraftView } from './draft_view';
import './form';
import { hoursGrid, DAYS } from './hours';
import { meanwhile } from './meanwhile';
import './part';
import { problemList } from './parts';
import { statementForm, statementSentence } from './statement';
import './usual';

/* Everything of the house, section by section: list, add, rename, change, remove. */

const EXPLAINED: Record<string, string> = {
  house: 'its name, country, currency, parts file, and how walls are judged',
  parts: 'what can be bought, and for how much: the parts file',
  rooms: 'what each is called, and used as',
};

@customElement('rt-change')
export class Change extends DraftView {
  @state() private schema: Schema | null = null;
  @state() private trouble = '';
  private isOpen = false;
  private moved = false; /* another list or form came in place of the one that had the focus */

  connectedCallback(): void {
    super.connectedCallback();
    schema().then(
      (s) => (this.schema = s),
      (e: unknown) => (this.trouble = e instanceof Refused ? e.message : String(e)),
    );
  }

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    const { section, item } = this.house.look;
    if (!this.schema) return; /* which says what is a form and what a list */
    if (this.follows(`${section}/${item}`)) this.moved = this.isOpen;
    this.isOpen = true;
  }

  protected get revision(): number {
    return this.house.revision;
  }

  /* Who goes by the keyboard goes on from the head of what was opened. */
  protected updated(): void {
    const head = this.moved ? this.querySelector<HTMLElement>('h2') : null;
    if (!head) return;
    this.moved = false;
    if (document.activeElement !== document.body) return;
    head.tabIndex = -1;
    head.focus();
  }

  /* ---- where we are ---- */

  private get isList(): boolean {
    const s = this.schema?.properties?.[this.house.look.section];
    return !!s && !s.patternProperties && ['objects', 'free', 'list'].includes(shapeOf(s));
  }

  private get isSingle(): boolean {
    const s = this.schema?.properties?.[this.house.look.section];
    return this.house.look.section === 'house' || (!!s && !s.patternProperties && shapeOf(s) === 'object');
  }

  private path(): string {
    const { section, item } = this.house.look;
    return section === 'house' ? '' : this.isSingle ? pointer(section) : pointer(section, item);
  }

  /* The file's own values, without its sections. */
  private root(): Dict {
    return Object.fromEntries(Object.entries(this.house.data).filter(([, v]) => v === null || typeof v !== 'object'));
  }

  private get isForm(): boolean {
    const { section, item } = this.house.look;
    return !!section && (!!item || this.isSingle);
  }

  protected first(): Dict | null {
    if (!this.isForm) return null;
    const value =
      this.was === undefined || this.was === null ? {} : typeof this.was === 'object' ? this.was : { value: this.was };
    return JSON.parse(JSON.stringify(value)) as Dict;
  }

  protected now(): Json | undefined {
    const { section, item } = this.house.look;
    if (!this.isForm) return undefined;
    if (section === 'house') return this.root();
    return item === '+' ? undefined : this.house.value(this.path());
  }

  protected get dirty(): boolean {
    if (!this.draft) return false;
    const { item } = this.house.look;
    if (item === '+') return Object.keys(this.draft).length > 0 || this.newId !== '';
    return (
      JSON.stringify(this.draft) !== JSON.stringify(this.was ?? {}) ||
      (!this.isSingle && !this.isList && this.newId !== item)
    );
  }

  private formSchema(): Schema | null {
    const { section } = this.house.look;
    if (!this.schema) return null;
    if (section === 'house') {
      const scalars = Object.entries(this.schema.properties ?? {}).filter(
        ([k, s]) => k !== 'rooftree' && !s.patternProperties && ['choice', 'text', 'number'].includes(shapeOf(s)),
      );
      return { properties: Object.fromEntries(scalars), required: this.schema.required };
    }
    const s = this.schema.properties?.[section];
    const item = itemOf(s);
    return item ? plain(item) : null;
  }

  /* ---- writing ---- */

  private edits(): { what: string; edits: Edit[]; id: string } {
    const { section, item } = this.house.look;
    const draft = this.draft ?? {};
    if (section === 'house') return { what: 'the house', edits: differences(this.was, draft, ''), id: '' };
    if (this.isSingle) {
      const is = this.house.data[section] === undefined ? undefined : this.house.data[section];
      return { what: words(section), edits: differences(is, draft, pointer(section)), id: '' };
    }
    const present = this.house.data[section];
    if (this.isList) {
      const what = `${words(section)} ${draft.id ? asText(draft.id) : ''}`.trim();
      if (item !== '+') return { what, edits: differences(this.was, draft, pointer(section, item)), id: item };
      if (!Array.isArray(present)) {
        const op = present === undefined ? 'add' : 'set';
        return { what, edits: [{ op, path: pointer(section), value: [draft] }], id: '0' };
      }
      return { what, edits: [{ op: 'add', path: pointer(section, '-'), value: draft }], id: String(present.length) };
    }
    const id = this.newId.trim();
    if (item === '+') {
      const what = `${id} added to ${words(section)}`;
      if (present === undefined || present === null) {
        const op = present === undefined ? 'add' : 'set';
        return { what, edits: [{ op, path: pointer(section), value: { [id]: draft } }], id };
      }
      return { what, edits: [{ op: 'add', path: pointer(section, id), value: draft }], id };
    }
    const edits = differences(this.was, draft, pointer(section, item));
    if (id !== item) {
      for (const m of mentions(this.house.data, section, item))
        edits.push({ op: 'set', path: pointer(...m.path), value: renamed(section, m.value, item, id) });
      edits.push({ op: 'rename', path: pointer(section, item), value: id });
      return { what: `${item} is now called ${id}`, edits, id };
    }
    return { what: `${item} changed`, edits, id };
  }

  private save = async (e: Event): Promise<void> => {
    e.preventDefault();
    const { section, item } = this.house.look;
    if (!this.isSingle && !this.isList && this.nameTyped() === null) return;
    const made = this.edits();
    if (!made.edits.length) return this.house.say('Nothing was changed');
    const outcome = await this.house.edit(made.what, made.edits, this.base);
    if (outcome.ok) {
      this.problems = [];
      this.shown = '';
      this.house.set({ section, item: this.isSingle ? '' : made.id });
      return;
    }
    const own = section === 'house' ? '' : this.isSingle ? pointer(section) : pointer(section, made.id);
    this.tell(outcome.problems, outcome.conflict, own);
    if (item === '+') this.base = this.house.revision;
  };

  private removeItem = async (): Promise<void> => {
    const { section, item } = this.house.look;
    const outcome = await this.house.edit(
      `${item} removed from ${words(section)}`,
      [{ op: 'remove', path: pointer(section, item) }],
      this.base,
    );
    if (outcome.ok) this.house.set({ item: '' });
    else {
      this.conflict = outcome.conflict;
      this.problems = outcome.problems.map((problem) => ({ key: '', problem }));
    }
  };

  private move = async (from: number, to: number): Promise<void> => {
    const list = this.house.list(this.house.look.section);
    const edits: Edit[] = [
      { op: 'remove', path: pointer(this.house.look.section, from) },
      {
        op: 'add',
        path: to >= list.length - 1 ? pointer(this.house.look.section, '-') : pointer(this.house.look.section, to),
        value: list[from],
      },
    ];
    const outcome = await this.house.edit('order of the statements', edits);
    if (!outcome.ok) return;
    this.house.set({ item: String(to) });
    await this.updateComplete;
    refocus(this, '.form-foot .word:not(:disabled)');
  };

  private startAgain = async (): Promise<void> => {
    this.begin();
    await this.updateComplete;
    refocus(this, '.item-form input, .item-form select, .item-form textarea');
  };

  /* ---- rendering ---- */

  render(): TemplateResult {
    if (this.trouble)
      return html`<p class="warning">
        The forms cannot be made: ${this.trouble}. The file can be changed as text, on the sheet.
      </p>`;
    if (!this.schema) return html`<p class="quiet">One moment.</p>`;
    const { section, item } = this.house.look;
    if (!section) return this.sections();
    if (section === 'parts') return html`<rt-part .house=${this.house}></rt-part>`;
    return html`<nav class="crumbs" aria-label="Where">
        <button type="button" class="word" @click=${() => this.house.set({ section: '', item: '' })}>everything</button>
        ${item && !this.isSingle ? html`<button type="button" class="word" @click=${() => this.house.set({ item: '' })}>${words(section)}</button>` : nothing}
      </nav>
      ${this.draft ? this.form() : this.list()}`;
  }

  private count(section: string): string {
    const v = this.house.data[section];
    if (section === 'house' || section === 'parts') return '';
    if (Array.isArray(v)) return String(v.length);
    if (v && typeof v === 'object')
      return this.schema?.properties?.[section]?.patternProperties ? String(Object.keys(v).length) : 'said';
    return '·';
  }

  private sections(): TemplateResult {
    const lacking = allMissing(this.house) ?? [];
    return html`<div class="sections">
      <section aria-labelledby="needed-head">
        <h2 id="needed-head">Needed before promises can be judged</h2>
        ${this.lacking(lacking)}
        <ul>
          ${NEEDED.map((s) =>
            this.sectionRow(
              s,
              lacking.some((m) => m.section === s),
            ),
          )}
        </ul>
        ${this.unjudged()}
      </section>
      <h2 class="added-head">What can be added</h2>
      <p class="quiet">Each makes some promise possible, or the answers truer; none of it must be there.</p>
      ${ADDED.map(
        (g, i) =>
          html`<section aria-labelledby=${`part-${i}`}>
            <h3 id=${`part-${i}`}>${g.head}</h3>
            <ul>
              ${g.sections.map((s) => this.sectionRow(s, false))}
            </ul>
          </section>`,
      )}
    </div>`;
  }

  private sectionRow(s: string, isMissing: boolean): TemplateResult {
    return html`<li>
      <button type="button" @click=${() => this.house.set({ section: s, item: '' })}>
        <span>${words(s)}</span>
        <span class="quiet">${EXPLAINED[s] ?? this.schema?.properties?.[s]?.description}</span>
        <span class=${isMissing ? 'margin is-missing' : 'margin'}>${isMissing ? 'missing' : this.count(s)}</span>
      </button>
    </li>`;
  }

  /* All that is missing, each with the place where it is said. */
  private lacking(all: readonly Missing[]): TemplateResult {
    if (!all.length) return html`<p class="quiet">All of it is there.</p>`;
    return html`<ol class="lacking">
      ${all.map(
        (m) =>
          html`<li>
            ${m.says}
            <button type="button" class="word" @click=${() => this.house.set(m.look)}>${m.link}</button>
          </li>`,
      )}
    </ol>`;
  }

  /* Promises for which a fact is missing: the engine says which. */
  private unjudged(): TemplateResult | typeof nothing {
    const all = (this.house.promises?.promises ?? []).filter((p) => p.state === 'unknown');
    if (!all.length) return nothing;
    return html`<h3>${all.length === 1 ? 'One promise' : `${all.length} promises`} cannot be judged yet</h3>
      <ul class="unjudged">
        ${all.map(
          (p) =>
            html`<li>
              ${p.says}: <span class="quiet">${p.reason}</span>
              <button
                type="button"
                class="word"
                aria-label=${`change the promise: ${p.says}`}
                @click=${() => this.house.set({ section: 'promises', item: p.id })}
              >
                change it
              </button>
            </li>`,
        )}
      </ul>`;
  }

  private list(): TemplateResult {
    const { section } = this.house.look;
    const v = this.house.data[section];
    const rows: { key: string; name: TemplateResult | string; quiet: string }[] = Array.isArray(v)
      ? v.map((x, i) => ({
          key: String(i),
          name: section === 'statements' ? statementSentence(this.house.data, x as Dict) : describe(x, String(i + 1)),
          quiet: section === 'statements' ? asText((x as Dict).says) : '',
        }))
      : Object.entries((v as Dict | null) ?? {}).map(([key, x]) => ({
          key,
          name: describe(x, words(key)),
          quiet: key,
        }));
    const wanted = this.filter.toLowerCase();
    const shown = wanted
      ? rows.filter((r) =>
          `${r.key} ${r.quiet} ${typeof r.name === 'string' ? r.name : ''}`.toLowerCase().includes(wanted),
        )
      : rows;
    return html`<section class="things-list" aria-labelledby="list-head">
      <h2 id="list-head">${words(section)}</h2>
      <p class="quiet">${this.schema?.properties?.[section]?.description}</p>
      ${
        rows.length > 12
          ? html`<label class="filter"
              >find
              <input
                type="search"
                .value=${this.filter}
                @input=${(e: Event) => (this.filter = (e.target as HTMLInputElement).value)}
            /></label>`
          : nothing
      }
      <ul>
        ${shown.map(
          (r) =>
            html`<li>
              <button
                type="button"
                class=${section === 'statements' ? 'is-told' : ''}
                @click=${() => this.house.set({ item: r.key })}
              >
                <span>${r.name}</span><span class="quiet">${r.quiet}</span>
              </button>
            </li>`,
        )}
      </ul>
      <button type="button" class="main" @click=${() => this.house.set({ item: '+' })}>add ${article(section)}</button>
      ${section === 'promises' ? html`<rt-usual .house=${this.house}></rt-usual>` : nothing}
    </section>`;
  }

  private form(): TemplateResult {
    const { section, item } = this.house.look;
    const s = this.formSchema();
    if (!s || !this.draft) return html`<p class="quiet">The schema says nothing of ${words(section)}.</p>`;
    const isNew = item === '+';
    const change = (v: Dict): void => {
      this.draft = v;
    };
    const general = this.problems.filter(
      (p) => !p.key || p.key === '#id' || !(s.properties ?? {})[p.key.split('-')[0]],
    );
    const at = Number(item);
    const many = this.house.list(section).length;
    return html`<form
      class="item-form"
      aria-labelledby="item-head"
      novalidate
      @submit=${this.save}
      @input=${() => (this.touched = true)}
    >
      <h2 id="item-head">
        ${this.isSingle ? words(section) : isNew ? `new: ${article(section)}` : this.isList ? `${words(section).replace(/s$/, '')} ${at + 1}` : words(item)}
      </h2>
      ${this.conflict ? meanwhile(this.was, this.draft, this.now(), this.keepMine, () => this.begin()) : nothing}
      ${
        general.length && !this.conflict
          ? html`<div role="alert">
              ${problemList(
                general.map((g) => g.problem),
                false,
              )}
            </div>`
          : nothing
      }
      ${
        this.isSingle || this.isList
          ? nothing
          : html`<div class="field">
              <label for="item-id">short name</label>
              <input
                id="item-id"
                type="text"
                autocomplete="off"
                spellcheck="false"
                .value=${this.newId}
                aria-describedby="item-id-hint"
                @input=${(e: Event) => (this.newId = (e.target as HTMLInputElement).value)}
              />
              <span class="hint" id="item-id-hint"
                >what the file calls it; where it is named, the new name is written too</span
              >
            </div>`
      }
      ${
        section === 'statements'
          ? statementForm(this.house, this.draft, change, this.problems)
          : html`<rt-form
              .house=${this.house}
              .section=${section}
              .schema=${s}
              .value=${this.draft}
              .was=${this.was}
              .problems=${this.problems}
              .change=${change}
            ></rt-form>`
      }
      ${section === 'hours' ? hoursGrid(this.draft, this.toggleDay) : nothing}
      <div class="form-foot">
        <button class="main">${isNew ? 'add it' : 'keep the change'}</button>
        <button type="button" ?disabled=${!this.dirty} @click=${this.startAgain}>as it was</button>
        ${isNew || this.isSingle ? nothing : html`<button type="button" class="word" @click=${this.removeItem}>remove</button>`}
        ${
          section === 'statements' && !isNew
            ? html`<button type="button" class="word" ?disabled=${at === 0} @click=${() => this.move(at, at - 1)}>
                  earlier
                </button>
                <button type="button" class="word" ?disabled=${at >= many - 1} @click=${() => this.move(at, at + 1)}>
                  later
                </button>`
            : nothing
        }
      </div>
    </form>`;
  }

  private toggleDay = (day: string): void => {
    if (!this.draft) return;
    const now =
      this.draft.days === undefined
        ? DAYS
        : Array.isArray(this.draft.days)
          ? this.draft.days.map(asText)
          : [asText(this.draft.days)];
    const next = DAYS.filter((d) => (d === day ? !now.includes(d) : now.includes(d)));
    this.draft = { ...this.draft, days: next };
  };
}

function describe(v: Json, key: string): string {
  if (v && typeof v === 'object' && !Array.isArray(v)) return asText(v.says ?? v.name ?? '') || key;
  return v === null || typeof v === 'object' ? key : asText(v);
}

const ARTICLES: Record<string, string> = {
  people: 'a person',
  hours: 'hours',
  statements: 'a statement',
  equipment: 'equipment',
  growth: 'a kind',
  batteries: 'a battery',
  remote_access: 'a way in',
  switches: 'a switch',
  foreign_ranges: 'a range',
  ssids: 'an SSID',
  obstacles: 'an obstacle',
  interfaces: 'an interface',
};
const article = (section: string): string => ARTICLES[section] ?? `a ${words(section).replace(/s$/, '')}`;
