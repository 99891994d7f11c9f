import { html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Problem } from '../api/client';
import type { Dict, Json } from '../api/types';
import { asList, asText, at, pointer } from '../state/pointer';
import { itemOf, membersOf, plain, shapeOf, type Schema } from '../state/schema';
import { endOf, endsOf } from '../state/ends';
import { isEnd, namesFor } from '../state/sections';
import { settings } from '../state/settings';
import { label, readLength, readLengths, typedLength, words } from '../units';
import { HouseView } from './base';

/* A form made from the schema: one control for each member, with what it means, and the engine's word beside it when it is wrong. */

const isLength = (key: string): boolean =>
  /(^|_)m$/.test(key) && !/per_m$/.test(key) ? true : key === 'outline' || key === 'line';

/* A number as a person may type it, with a comma or a point. */
const parseNumber = (text: string): number | null => {
  const t = text.trim().replace('−', '-').replace(',', '.');
  return t !== '' && Number.isFinite(Number(t)) ? Number(t) : null;
};

function showPoints(v: Json | undefined, metres: boolean): string {
  if (!Array.isArray(v)) return '';
  const one = (p: Json): string =>
    asList(p)
      .map((x) => (metres ? typedLength(Number(x), settings.unit) : Number(x)))
      .join(', ');
  return Array.isArray(v[0]) ? v.map(one).join('; ') : one(v);
}

/* All lengths in a value, those in the same place first: what is not changed keeps every digit that it has. */
function knownAt(values: (Json | undefined)[], i: number, k: number): number[] {
  const here = values.map((v) => (Array.isArray(v) ? asList(Array.isArray(v[0]) ? v[i] : v)[k] : undefined));
  return [...here, ...values.flatMap((v) => asList(v).flatMap(asList))].filter((x) => typeof x === 'number');
}

/* The lengths of one point: apart by commas, or by blanks where each is a number alone. */
function readPoint(text: string, known: (k: number) => number[]): (number | null)[] {
  const all = text
    .split(',')
    .map((t) => t.trim())
    .filter(Boolean);
  const apart = all.length === 1 && readLength(all[0], settings.unit) === null;
  return apart ? readLengths(all[0], settings.unit) : all.map((t, k) => readLength(t, settings.unit, known(k)));
}

/* "0, 0; 5.6, 0": points apart by semicolons.  What cannot be read stays a text, and the engine says what is wrong with it. */
function readPoints(text: string, deep: boolean, metres: boolean, before: (Json | undefined)[]): Json | undefined {
  if (!text.trim()) return undefined;
  const numbers = text
    .split(/;|\n/)
    .filter((p) => p.trim())
    .map((p, i) =>
      metres
        ? readPoint(p, (k) => knownAt(before, i, k))
        : p
            .split(/[,\s]+/)
            .filter(Boolean)
            .map(parseNumber),
    );
  if (numbers.some((p) => p.some((x) => x === null))) return text;
  const points = numbers as number[][];
  return deep ? points : points.flat();
}

@customElement('rt-form')
export class Form extends HouseView {
  @property() section = '';
  @property({ attribute: false }) schema!: Schema;
  @property({ attribute: false }) value: Dict = {};
  @property({ attribute: false }) was: Json | undefined; /* as it stands in the file */
  @property({ attribute: false }) problems: { key: string; problem: Problem }[] = [];
  @property({ attribute: false }) change: (v: Dict) => void = () => undefined;
  @state() private all = false;
  private lists: Map<string, string[]> = new Map();

  private set(path: (string | number)[], v: Json | undefined): void {
    const next = JSON.parse(JSON.stringify(this.value)) as Dict;
    let here: Json = next;
    for (const step of path.slice(0, -1)) {
      const at = here as Record<string | number, Json>;
      if (at[step] === undefined || at[step] === null) at[step] = {};
      here = at[step];
    }
    const last = path[path.length - 1];
    if (v === undefined) {
      if (Array.isArray(here)) here.splice(Number(last), 1);
      else delete (here as Dict)[last];
    } else (here as Record<string | number, Json>)[last] = v;
    this.value = next;
    this.change(next);
  }

  render(): TemplateResult {
    this.lists = new Map();
    const members = membersOf(this.schema, this.value);
    const shown = members.filter(
      (m) =>
        this.all ||
        m.must ||
        m.key in this.value ||
        ['says', 'name', 'kind'].includes(m.key) ||
        this.problemsOf([m.key], true).length > 0,
    );
    const hidden = members.length - shown.length;
    return html`${shown.map((m) => this.member(m.key, m.schema, m.must, this.value[m.key], [m.key]))}
    ${
      hidden || this.all
        ? html`<p>
            <button
              type="button"
              class="word"
              aria-expanded=${this.all ? 'true' : 'false'}
              @click=${() => (this.all = !this.all)}
            >
              ${this.all ? 'only what is said' : `${hidden} more that may be said`}
            </button>
          </p>`
        : nothing
    }
    ${[...this.lists].map(
      ([id, names]) => html`<datalist id=${id}>${names.map((n) => html`<option value=${n}></option>`)}</datalist>`,
    )}`;
  }

  /* What is wrong with the member at that path, or (`within`) with anything in it. */
  private problemsOf(path: (string | number)[], within: boolean): { key: string; problem: Problem }[] {
    const own = path.join('-');
    return this.problems.filter((p) => p.key === own || (within && p.key.startsWith(`${own}-`)));
  }

  private told(wrong: { problem: Problem }[], id: string): TemplateResult[] {
    return wrong.map(
      (w) =>
        html`<span class="field-wrong" id=${`${id}-wrong`}
          ><strong>${w.problem.says}</strong>${w.problem.hint ? ` · ${w.problem.hint}` : ''}</span
        >`,
    );
  }

  private inFile(path: (string | number)[]): Json | undefined {
    return this.was && typeof this.was === 'object' ? at(this.was, pointer(...path)) : undefined;
  }

  /* Who talks, as the house calls them. */
  private inWords(key: string, v: Json | undefined): TemplateResult | typeof nothing {
    if (!isEnd(this.section, key) || !asList(v).length) return nothing;
    const ends = endsOf(this.house.data);
    const names = asList(v).map((x) => endOf(ends, asText(x)).name);
    return names.join() === asList(v).join() ? nothing : html`<span class="hint">that is: ${names.join('; ')}</span>`;
  }

  private idOf(path: (string | number)[]): string {
    return `f-${this.section}-${path.join('-')}`;
  }

  private suggestions(key: string): string | undefined {
    const names = namesFor(this.house.data, this.section, key);
    if (!names.length) return undefined;
    const id = `names-${this.section}-${key}`;
    this.lists.set(id, names);
    return id;
  }

  private member(
    key: string,
    s: Schema,
    must: boolean,
    v: Json | undefined,
    path: (string | number)[],
  ): TemplateResult {
    const p = plain(s);
    const shape = shapeOf(s);
    const l = label(key);
    const unit = isLength(key) ? settings.unit : l.unit;
    const id = this.idOf(path);
    const wrong = this.problemsOf(path, shape !== 'object' && shape !== 'objects');
    const name = html`${l.name}${unit ? html`<span class="unit">, ${unit}</span>` : nothing}${must ? html`<span class="must" title="must be said">*</span>` : nothing}`;
    const told = html`${p.description ? html`<span class="hint" id=${`${id}-hint`}>${p.description}${p.default !== undefined ? `; left out: ${asText(p.default)}` : ''}</span>` : nothing}
    ${this.inWords(key, v)} ${this.told(wrong, id)}`;
    const by = [p.description ? `${id}-hint` : '', wrong.length ? `${id}-wrong` : ''].filter(Boolean).join(' ');
    if (shape === 'object')
      return html`<fieldset class="nested">
        <legend>${name}</legend>
        ${told}
        ${membersOf(p, (v as Dict) ?? {}).map((m) => this.member(m.key, m.schema, false, (v as Dict | undefined)?.[m.key], [...path, m.key]))}
      </fieldset>`;
    if (shape === 'objects') return this.objects(key, p, v, path, name, told);
    if (shape === 'choices') {
      const now = asList(v);
      return html`<fieldset class="choose">
        <legend>${name}</legend>
        ${(itemOf(p)?.enum ?? plain(p.items ?? {}).enum ?? []).map(
          (e) =>
            html`<label class="tick"
              ><input
                type="checkbox"
                .checked=${now.includes(e)}
                @change=${(ev: Event) => {
                  const on = (ev.target as HTMLInputElement).checked;
                  const next = on ? [...now, e] : now.filter((x) => x !== e);
                  this.set(path, next.length ? next : undefined);
                }}
              />${words(asText(e))}</label
            >`,
        )}
        ${told}
      </fieldset>`;
    }
    return html`<div class=${wrong.length ? 'field is-wrong' : 'field'}>
      <label for=${id}>${name}</label>
      ${this.control(key, p, shape, v, path, id, by, must, wrong.length > 0)} ${told}
    </div>`;
  }

  private objects(
    key: string,
    p: Schema,
    v: Json | undefined,
    path: (string | number)[],
    name: TemplateResult,
    told: TemplateResult,
  ): TemplateResult {
    const items = asList(v) as Dict[];
    const item = itemOf(p) ?? {};
    return html`<fieldset class="nested">
      <legend>${name}</legend>
      ${told}
      ${items.map(
        (x, i) =>
          html`<details class="item" ?open=${items.length < 3 || this.problemsOf([...path, i], true).length > 0}>
            <summary>
              ${words(asText(x.id ?? x.kind ?? x.material ?? x.band ?? x.says ?? `${label(key).name} ${i + 1}`))}
            </summary>
            ${this.told(this.problemsOf([...path, i], false), this.idOf([...path, i]))}
            ${membersOf(item, x).map((m) => this.member(m.key, m.schema, m.must, x[m.key], [...path, i, m.key]))}
            <button type="button" class="word" @click=${() => this.set([...path, i], undefined)}>take it out</button>
          </details>`,
      )}
      <button type="button" class="word" @click=${() => this.set(path, [...items, this.blank(item)])}>one more</button>
    </fieldset>`;
  }

  /* What must be said stands there from the start, with the first of its choices. */
  private blank(item: Schema): Dict {
    const out: Dict = {};
    for (const m of membersOf(item, {}))
      if (m.must && plain(m.schema).enum) out[m.key] = plain(m.schema).enum?.[0] ?? '';
    return out;
  }

  private control(
    key: string,
    p: Schema,
    shape: string,
    v: Json | undefined,
    path: (string | number)[],
    id: string,
    by: string,
    must: boolean,
    wrong: boolean,
  ): TemplateResult {
    const invalid = wrong ? 'true' : 'false';
    const text = (
      value: string,
      mode: 'text' | 'decimal',
      read: (t: string) => Json | undefined,
      long = false,
    ): TemplateResult =>
      long
        ? html`<textarea
            id=${id}
            rows="2"
            aria-describedby=${by || nothing}
            aria-invalid=${invalid}
            .value=${value}
            @change=${(e: Event) => this.set(path, read((e.target as HTMLTextAreaElement).value))}
          ></textarea>`
        : html`<input
            id=${id}
            type="text"
            inputmode=${mode}
            autocomplete="off"
            list=${this.suggestions(key) ?? nothing}
            aria-describedby=${by || nothing}
            aria-invalid=${invalid}
            aria-required=${must ? 'true' : 'false'}
            .value=${value}
            @change=${(e: Event) => this.set(path, read((e.target as HTMLInputElement).value))}
          />`;
    switch (shape) {
      case 'choice':
        return html`<select
          id=${id}
          aria-describedby=${by || nothing}
          aria-invalid=${invalid}
          @change=${(e: Event) => {
            const at = (e.target as HTMLSelectElement).selectedIndex - (must && v !== undefined ? 0 : 1);
            this.set(path, at < 0 ? undefined : p.enum?.[at]);
          }}
        >
          ${must && v !== undefined ? nothing : html`<option .selected=${v === undefined}>${must ? 'choose' : 'not said'}</option>`}
          ${(p.enum ?? []).map((x) => html`<option .selected=${x === v}>${words(asText(x))}</option>`)}
        </select>`;
      case 'yes_no':
        return html`<select
          id=${id}
          aria-describedby=${by || nothing}
          @change=${(e: Event) => {
            const said = (e.target as HTMLSelectElement).value;
            this.set(path, said === '' ? undefined : said === 'yes');
          }}
        >
          <option value="" .selected=${v === undefined}>not said</option>
          <option value="yes" .selected=${v === true}>yes</option>
          <option value="no" .selected=${v === false}>no</option>
        </select>`;
      case 'number': {
        const metres = isLength(key);
        const shown = typeof v === 'number' && metres ? typedLength(v, settings.unit) : asText(v);
        return text(shown, metres && settings.unit === 'ft' ? 'text' : 'decimal', (t) => {
          if (!t.trim()) return undefined;
          const before = [this.inFile(path), v].filter((x) => typeof x === 'number');
          return (metres ? readLength(t, settings.unit, before) : parseNumber(t)) ?? t;
        });
      }
      case 'points': {
        const deep = !!plain(p.items ?? {}).items;
        const metres = isLength(key);
        return text(showPoints(v, metres), 'text', (t) => readPoints(t, deep, metres, [this.inFile(path), v]), deep);
      }
      case 'list':
        return text(asList(v).map(asText).join(', '), 'text', (t) => {
          const all = t
            .split(',')
            .map((x) => x.trim())
            .filter(Boolean);
          return all.length ? all : undefined;
        });
      case 'free':
        return text(
          asList(v).every((x) => typeof x !== 'object') ? asList(v).map(asText).join(', ') : JSON.stringify(v),
          'text',
          (t) => {
            if (!t.trim()) return undefined;
            try {
              const parsed = JSON.parse(t) as Json;
              if (typeof parsed === 'object') return parsed;
            } catch {
              /* not JSON: words apart by commas */
            }
            return t
              .split(',')
              .map((x) => x.trim())
              .filter(Boolean);
          },
        );
      default:
        return text(asText(v), 'text', (t) => (t === '' ? undefined : t), key === 'says' && asText(v).length > 50);
    }
  }
}
