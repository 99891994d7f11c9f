import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Problem } from '../api/client';
import type { Dict, Edit, Json } from '../api/types';
import { asList, asText, pointer } from '../state/pointer';
import { number, readNumber, words } from '../units';
import { HouseView, refocus } from './base';
import { problemList } from './parts';
import { partsSteps } from './parts_steps';

/* All parts as tables, one for each kind, with what of them tells them apart; prices can be typed into the table, all in one step. */

interface Column {
  head: string;
  figure?: boolean;
  of: (p: Dict) => string; /* what is told in several lines: with line breaks between */
}

const given = (v: Json | undefined, unit: string): string =>
  typeof v === 'number' ? `${number(v)}${unit ? ` ${unit}` : ''}` : '';

const speed = (v: Json | undefined): string =>
  typeof v !== 'number' ? '' : v >= 1000 ? `${number(v / 1000)} Gb/s` : `${number(v)} Mb/s`;

const dicts = (v: Json | undefined): Dict[] =>
  asList(v).filter((x): x is Dict => x !== null && typeof x === 'object' && !Array.isArray(x));

const bands = (p: Dict): string =>
  dicts(p.radios)
    .map((r) => `${asText(r.band)} GHz ${asText(r.streams)}×${asText(r.streams)} ${asText(r.phy)}`)
    .join('\n');

function ports(p: Dict): string {
  return dicts(p.ports)
    .map((g) => {
      const medium = g.medium === undefined || g.medium === 'copper' ? '' : ` ${words(asText(g.medium))}`;
      const feeds = g.poe_class === undefined ? '' : `, feeds class ${asText(g.poe_class)}`;
      return `${asText(g.count)} × ${speed(g.speed_mbps)}${medium}${feeds}`;
    })
    .join('\n');
}

/* A column stands where at least one part of the kind has something to say in it. */
const COLUMNS: Column[] = [
  { head: 'bands', of: bands },
  { head: 'ports', of: ports },
  { head: 'needs power of class', figure: true, of: (p) => given(p.poe_class_needed, '') },
  { head: 'gives', figure: true, of: (p) => given(p.poe_budget_w, 'W') },
  { head: 'draws', figure: true, of: (p) => given(p.power_w, 'W') },
  { head: 'routes', figure: true, of: (p) => speed(p.routed_mbps) },
  { head: 'category', of: (p) => asText(p.category) },
  { head: 'price is for', figure: true, of: (p) => given(p.per_m, 'm') },
  { head: 'stores', figure: true, of: (p) => given(p.capacity_wh, 'Wh') },
  { head: 'disk', figure: true, of: (p) => given(p.disk_tb, 'TB') },
  { head: 'rack units', figure: true, of: (p) => given(p.rack_units, '') },
  { head: 'outdoors', of: (p) => (p.outdoors === true ? 'yes' : '') },
];

@customElement('rt-part-list')
export class PartList extends HouseView {
  @state() private pricing = false;
  @state() private asText = false;
  @state() private typed = new Map<string, string>();
  @state() private problems: Problem[] = [];
  private base = 0;
  private asked = '';

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    const wanted = `${this.house.path}@${this.house.state}`;
    if (wanted === this.asked) return;
    this.asked = wanted;
    if (!this.house.parts.model) void this.house.parts.read();
    void this.house.parts.readUsed();
  }

  private begin = (): void => {
    this.pricing = true;
    this.typed = new Map();
    this.problems = [];
    this.base = this.house.parts.revision;
    void this.updateComplete.then(() => refocus(this, 'input'));
  };

  private end = (): void => {
    this.pricing = false;
    this.typed = new Map();
    this.problems = [];
    void this.updateComplete.then(() => refocus(this, '.ways button:not(:disabled)'));
  };

  private save = async (e: Event): Promise<void> => {
    e.preventDefault();
    const edits: Edit[] = [];
    for (const [id, p] of this.house.parts.list) {
      const text = this.typed.get(id);
      if (text === undefined) continue;
      const value = readNumber(text) ?? text;
      if (value === p.price) continue;
      edits.push({ op: p.price === undefined ? 'add' : 'set', path: pointer('parts', id, 'price'), value });
    }
    if (!edits.length) {
      this.end();
      return this.house.say('No price was changed');
    }
    const what = edits.length === 1 ? `price of ${edits[0].path.split('/')[2]}` : `${edits.length} prices`;
    const outcome = await this.house.parts.edit(what, edits, this.base);
    if (outcome.ok) return this.end();
    this.problems = outcome.problems;
    if (outcome.conflict) this.base = this.house.parts.revision;
    void this.updateComplete.then(() => this.querySelector<HTMLElement>('[aria-invalid=true]')?.focus());
  };

  render(): TemplateResult {
    const parts = this.house.parts;
    if (parts.trouble.length)
      return html`<div class="in-sheet">
        ${problemList(parts.trouble, false)}
        <button
          type="button"
          class="word"
          @click=${() => this.house.set({ side: 'change', section: 'house', item: '' })}
        >
          say which parts file it is
        </button>
      </div>`;
    if (!parts.model) return html`<p class="quiet in-sheet" role="status">One moment.</p>`;
    if (this.asText)
      return html`<p class="ways in-sheet">
          <button type="button" class="word" @click=${() => (this.asText = false)}>as tables</button>
        </p>
        <rt-text file="parts" .house=${this.house}></rt-text>`;
    const kinds = [...new Set(parts.list.map(([, p]) => asText(p.kind)))];
    const general = this.problems.filter((p) => !this.isOfPrice(p));
    return html`<form class="in-sheet part-list" novalidate @submit=${this.save}>
      <p class="lead">
        ${
          parts.model.parts
            ? html`What can be bought: ${parts.list.length} parts, prices in ${parts.currency}.`
            : 'The parts file cannot be read as it is. Mend it as text, or go a step back.'
        }
      </p>
      <p class="quiet">
        <code>${parts.file}</code>, revision
        ${parts.revision}${this.others() ? `; ${this.others()} name it too, and are judged by it` : ''}.
      </p>
      ${problemList(parts.model.problems)}
      ${general.length ? html`<div role="alert">${problemList(general, false)}</div>` : nothing}
      <p class="ways">${this.ways()}</p>
      ${kinds.map((k) =>
        this.kind(
          k,
          parts.list.filter(([, p]) => asText(p.kind) === k),
        ),
      )}
      ${this.pricing ? html`<p class="ways">${this.ways()}</p>` : nothing}
    </form>`;
  }

  private ways(): TemplateResult {
    const parts = this.house.parts;
    if (this.pricing)
      return html`<button class="main">keep the prices</button>
        <button type="button" @click=${this.end}>as they were</button>`;
    const listed = html`<button type="button" class="word" @click=${this.begin}>change prices</button>
      <button
        type="button"
        class="word"
        @click=${() => this.house.set({ side: 'change', section: 'parts', item: '+' })}
      >
        add a part
      </button>`;
    return html`${parts.model?.parts ? listed : nothing} ${partsSteps(this)}
      <button type="button" class="word" @click=${() => (this.asText = true)}>the file as text</button>`;
  }

  private others(): string {
    const others = this.house.parts.used?.houses.filter((h) => h.house !== this.house.name) ?? [];
    return others.map((h) => h.title).join(', ');
  }

  private isOfPrice(p: Problem): boolean {
    return /^\/parts\/[^/]+\/price$/.test(p.path ?? '');
  }

  private kind(kind: string, list: [string, Dict][]): TemplateResult {
    const columns = COLUMNS.filter((c) => list.some(([, p]) => c.of(p)));
    const name = words(kind) || 'of no kind';
    return html`<div class="table-place" tabindex="0" role="region" aria-label=${`parts: ${name}`}>
      <table class="wide-table">
        <caption>
          ${name}
        </caption>
        <thead>
          <tr>
            <th scope="col">part</th>
            <th scope="col" class="figure">price</th>
            ${columns.map((c) => html`<th scope="col" class=${c.figure ? 'figure' : ''}>${c.head}</th>`)}
            <th scope="col">this house</th>
          </tr>
        </thead>
        <tbody>
          ${list.map(
            ([id, p]) =>
              html`<tr class=${this.house.look.section === 'parts' && this.house.look.item === id ? 'is-now' : ''}>
                <th scope="row">
                  <button
                    type="button"
                    class="word"
                    @click=${() => this.house.set({ side: 'change', section: 'parts', item: id })}
                  >
                    ${asText(p.says) || words(id)}
                  </button>
                  <span class="quiet">${[asText(p.maker), id].filter(Boolean).join(' · ')}</span>
                </th>
                <td class="figure">${this.price(id, p)}</td>
                ${columns.map((c) => html`<td class=${c.figure ? 'figure' : 'lines'}>${c.of(p)}</td>`)}
                <td>${this.needs(id)}</td>
              </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
  }

  /* What this house does with it: names it, or has its bill buy it. */
  private needs(id: string): string {
    const used = this.house.parts.used;
    const own = used?.houses.find((h) => h.house === this.house.name);
    const named = own?.parts.find((p) => p.part === id)?.count ?? 0;
    const bought = used?.bought?.filter((b) => b.part === id) ?? [];
    const counts = bought.map((b) => `${number(b.count)}${b.unit ? ` ${b.unit}` : ''}`);
    return [named ? `named ${named}×` : '', counts.length ? `buys ${counts.join(' and ')}` : '']
      .filter(Boolean)
      .join(', ');
  }

  private price(id: string, p: Dict): TemplateResult | string {
    const now = p.price;
    if (!this.pricing) return typeof now === 'number' ? number(now, 2, Number.isInteger(now) ? 0 : 2) : asText(now);
    const wrong = this.problems.filter((x) => x.path === pointer('parts', id, 'price'));
    return html`<input
        type="text"
        inputmode="decimal"
        autocomplete="off"
        size="8"
        aria-label=${`price of ${asText(p.says) || words(id)}`}
        aria-invalid=${wrong.length ? 'true' : 'false'}
        aria-describedby=${wrong.length ? `price-${id}-wrong` : nothing}
        .value=${this.typed.get(id) ?? asText(now)}
        @input=${(e: Event) => this.typed.set(id, (e.target as HTMLInputElement).value)}
      />${wrong.map((w) => html`<span class="field-wrong" id=${`price-${id}-wrong`}>${w.says}</span>`)}`;
  }
}
