import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { Refused } from '../api/client';
import type { Dict, Edit, Json } from '../api/types';
import { same } from '../state/merge';
import { asText, pointer } from '../state/pointer';
import { differences, partSchema, type Schema } from '../state/schema';
import { words } from '../units';
import { refocus } from './base';
import { DraftView } from './draft_view';
import './form';
import { meanwhile } from './meanwhile';
import { partsSteps } from './parts_steps';
import { problemList } from './parts';

/* Parts: what can be bought.  One is changed in a form made of the schema; what is wrong stands beside its field. */

@customElement('rt-part')
export class PartForm extends DraftView {
  @state() private schema: Schema | null = null;
  @state() private trouble = '';
  private copied: Dict | null = null; /* what a new one begins with */
  private isOpen = false;
  private moved = false; /* another form, or the list, came in place of the one that had the focus */

  connectedCallback(): void {
    super.connectedCallback();
    void this.house.parts.read();
    partSchema().then(
      (s) => (this.schema = s),
      (e: unknown) => (this.trouble = e instanceof Refused ? e.message : String(e)),
    );
  }

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    if (!this.house.parts.model) return;
    if (this.follows(this.house.look.item)) this.moved = this.isOpen;
    this.isOpen = true;
  }

  /* Who goes by the keyboard goes on from the head of what was opened. */
  protected updated(): void {
    const head = this.moved ? this.querySelector<HTMLElement>('h2') : null;
    if (!head) return;
    this.moved = false;
    head.tabIndex = -1;
    refocus(this, 'h2');
  }

  protected get revision(): number {
    return this.house.parts.revision;
  }

  private get path(): string {
    return pointer('parts', this.house.look.item);
  }

  protected now(): Json | undefined {
    const { item } = this.house.look;
    return !item || item === '+' ? undefined : this.house.parts.value(this.path);
  }

  protected first(): Dict | null {
    const { item } = this.house.look;
    if (item !== '+') this.copied = null;
    return !item ? null : (JSON.parse(JSON.stringify(this.was ?? this.copied ?? {})) as Dict);
  }

  protected get dirty(): boolean {
    return !!this.draft && (!same(this.draft, this.was ?? {}) || this.newId !== this.house.look.item);
  }

  /* ---- writing ---- */

  private edits(id: string): Edit[] {
    const { item } = this.house.look;
    const draft = this.draft ?? {};
    if (item === '+' || this.was === undefined) {
      const all = this.house.parts.value('/parts');
      if (all === undefined || all === null)
        return [{ op: all === undefined ? 'add' : 'set', path: '/parts', value: { [id]: draft } }];
      return [{ op: 'add', path: pointer('parts', id), value: draft }];
    }
    const edits = differences(this.was, draft, this.path);
    if (id !== item) edits.push({ op: 'rename', path: this.path, value: id });
    return edits;
  }

  private save = async (e: Event): Promise<void> => {
    e.preventDefault();
    const id = this.nameTyped();
    if (id === null) return;
    const edits = this.edits(id);
    if (!edits.length) return this.house.say('Nothing was changed');
    const { item } = this.house.look;
    const what = item === '+' ? `part ${id} added` : id === item ? `part ${id} changed` : `part ${item} is now ${id}`;
    const outcome = await this.house.parts.edit(what, edits, this.base);
    if (outcome.ok) {
      this.copied = null;
      this.shown = '';
      this.house.set({ item: id });
      return;
    }
    this.tell(outcome.problems, outcome.conflict, item === '+' ? pointer('parts', id) : this.path);
  };

  private drop = async (): Promise<void> => {
    const { item } = this.house.look;
    const outcome = await this.house.parts.edit(`part ${item} removed`, [{ op: 'remove', path: this.path }], this.base);
    if (outcome.ok) this.house.set({ item: '' });
    else this.tell(outcome.problems, outcome.conflict, this.path);
  };

  private startAgain = async (): Promise<void> => {
    this.begin();
    await this.updateComplete;
    refocus(this, '.item-form input, .item-form select');
  };

  private copy = (): void => {
    this.copied = JSON.parse(JSON.stringify(this.draft ?? {})) as Dict;
    this.house.set({ item: '+' });
    this.house.say('A copy: give it a short name of its own');
  };

  /* ---- rendering ---- */

  render(): TemplateResult {
    const { item } = this.house.look;
    const parts = this.house.parts;
    return html`<nav class="crumbs" aria-label="Where">
        <button type="button" class="word" @click=${() => this.house.set({ section: '', item: '' })}>everything</button>
        ${item ? html`<button type="button" class="word" @click=${() => this.house.set({ item: '' })}>parts</button>` : nothing}
      </nav>
      ${
        this.trouble
          ? html`<p class="warning">The form cannot be made: ${this.trouble}</p>`
          : parts.trouble.length
            ? this.none()
            : !parts.model || !this.schema
              ? html`<p class="quiet">One moment.</p>`
              : item
                ? this.form(this.schema)
                : this.all()
      }`;
  }

  private none(): TemplateResult {
    return html`<section class="things-list" aria-labelledby="list-head">
      <h2 id="list-head">parts</h2>
      ${problemList(this.house.parts.trouble, false)}
      <button type="button" class="word" @click=${() => this.house.set({ section: 'house', item: '' })}>
        say which parts file it is
      </button>
    </section>`;
  }

  private all(): TemplateResult {
    const parts = this.house.parts;
    const wanted = this.filter.toLowerCase();
    const rows = parts.list.filter(([id, p]) =>
      `${id} ${asText(p.says)} ${asText(p.maker)} ${words(asText(p.kind))}`.toLowerCase().includes(wanted),
    );
    return html`<section class="things-list" aria-labelledby="list-head">
      <h2 id="list-head">parts</h2>
      <p class="quiet">What can be bought, of <code>${parts.file}</code>; prices in ${parts.currency}.</p>
      ${problemList(parts.model?.problems ?? [])}
      <p class="ways">
        <button type="button" class="word" @click=${() => this.house.set({ view: 'parts' })}>
          see them as a table
        </button>
        ${partsSteps(this)}
      </p>
      <label class="filter"
        >find
        <input
          type="search"
          .value=${this.filter}
          @input=${(e: Event) => (this.filter = (e.target as HTMLInputElement).value)}
      /></label>
      <ul>
        ${rows.map(
          ([id, p]) =>
            html`<li>
              <button type="button" @click=${() => this.house.set({ item: id })}>
                <span>${asText(p.says) || words(id)}</span><span class="quiet">${words(asText(p.kind))}</span>
              </button>
            </li>`,
        )}
      </ul>
      <button type="button" class="main" @click=${() => this.house.set({ item: '+' })}>add a part</button>
    </section>`;
  }

  private form(schema: Schema): TemplateResult {
    const { item } = this.house.look;
    const isNew = item === '+';
    if (!this.draft || (!isNew && !this.was && !this.conflict)) return html`<p>There is no part ${item} any more.</p>`;
    const general = this.problems.filter((p) => !(schema.properties ?? {})[p.key.split('-')[0]]);
    return html`<form class="item-form" novalidate @submit=${this.save}>
      <h2>
        ${isNew ? (this.copied ? 'new: a copy' : 'new: a part') : asText((this.was as Dict | undefined)?.says) || words(item)}
      </h2>
      ${isNew ? nothing : this.needed(item)}
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
      <div class="field">
        <label for="item-id">short name</label>
        <input
          id="item-id"
          type="text"
          autocomplete="off"
          spellcheck="false"
          aria-describedby="item-id-hint"
          .value=${this.newId}
          @input=${(e: Event) => (this.newId = (e.target as HTMLInputElement).value)}
        />
        <span class="hint" id="item-id-hint">what houses call it; one that a house names keeps its name</span>
      </div>
      <rt-form
        .house=${this.house}
        .section=${'parts'}
        .schema=${schema}
        .value=${this.draft}
        .was=${this.was}
        .problems=${this.problems}
        .change=${(v: Dict) => (this.draft = v)}
      ></rt-form>
      <div class="form-foot">
        <button class="main" ?disabled=${this.conflict}>${isNew ? 'add it' : 'keep the change'}</button>
        <button type="button" ?disabled=${!this.dirty} @click=${this.startAgain}>as it was</button>
        ${
          isNew
            ? nothing
            : html`<button type="button" class="word" @click=${this.copy}>copy</button>
                <button type="button" class="word" @click=${this.drop}>remove</button>`
        }
      </div>
    </form>`;
  }

  /* Which houses name it. */
  private needed(id: string): TemplateResult {
    void this.house.parts.readUsed();
    const used = this.house.parts.used;
    if (!used) return html`<p class="quiet">One moment.</p>`;
    const by = used.houses.flatMap((h) => {
      const n = h.parts.find((p) => p.part === id)?.count ?? 0;
      return n ? [`${h.title} (${n})`] : [];
    });
    return html`<p class="quiet">${by.length ? `named by ${by.join(', ')}` : 'named by no house of this folder'}</p>`;
  }
}
