import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { getJson, query, Refused } from '../api/client';
import type { HouseEntry, Revision, State } from '../api/types';
import { number, signed, time } from '../units';
import { HouseView } from './base';
import { differences, type Difference, type Sides } from './differences';
import { mark } from './parts';

/* This house beside another of the folder, or beside itself as it was: what each comes to, promise by promise, and what the files say
   differently.  As `design --compare` has it. */

interface Side {
  house: string;
  total_minor: number;
  yearly_minor: number;
  access_points: number;
  switches: number;
  cable_m: number;
  kept: number;
  broken: number;
  unknown: number;
}

interface Compared {
  currency: string;
  houses: [Side, Side];
  promises: {
    id: string;
    kind: string;
    says: string;
    sides: { state: State | null; margin: number | null; unit: string }[];
  }[];
  differences: Difference[];
}

type Of = Compared['promises'][number]['sides'][number];

@customElement('rt-compare')
export class CompareView extends HouseView {
  @state() private others: HouseEntry[] | null = null;
  @state() private other = ''; /* a house's name, or a revision of this one: `@12` */
  @state() private told: Compared | null = null;
  @state() private trouble = '';
  @state() private asking = false;
  @state() private all = false;
  private of = '';

  connectedCallback(): void {
    super.connectedCallback();
    void this.readHouses();
  }

  protected updated(): void {
    if (!this.other || this.of === this.wanted) return;
    void this.read();
  }

  private get wanted(): string {
    return `${this.house.path}@${this.house.state}|${this.other}`;
  }

  private async readHouses(): Promise<void> {
    try {
      const { houses } = (await getJson<{ houses: HouseEntry[] }>('/api/houses')).body;
      this.others = houses.filter((h) => h.name !== this.house.name);
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.trouble = e.message;
    }
  }

  private async read(): Promise<void> {
    const of = (this.of = this.wanted);
    this.asking = true;
    this.trouble = '';
    try {
      const asked = this.other.startsWith('@') ? { revision: this.other.slice(1) } : { with: this.other };
      const { body } = await getJson<Compared>(`${this.house.path}/compare?${query(asked)}`);
      if (of !== this.of) return;
      this.told = body;
      const [first, second] = this.sides(body).names;
      this.house.say(`${first} beside ${second}`);
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      if (of !== this.of) return;
      this.told = null;
      this.trouble = [e.message, e.problems[0]?.hint].filter(Boolean).join('; ');
    }
    this.asking = false;
  }

  private get earlier(): Revision[] {
    return this.house.history?.revisions.filter((r) => r.number !== this.house.history?.at) ?? [];
  }

  private sides(c: Compared): Sides {
    const then = this.other.startsWith('@') && this.earlier.find((r) => `@${r.number}` === this.other);
    if (then) return { names: ['now', `as it was ${time(then.at_s)}`], only: ['only now', 'only then'] };
    const [a, b] = c.houses.map((h) => h.house);
    const names: [string, string] = a === b ? [this.house.name, this.other] : [a, b];
    return { names, only: ['only here', `only in ${names[1]}`] };
  }

  /* A copy goes by its file's name too: both are called the same. */
  private called(h: HouseEntry): string {
    return h.title && h.title === this.house.title ? `${h.title} (${h.name})` : (h.title ?? h.name);
  }

  private choice(): TemplateResult {
    const option = (value: string, words: string): TemplateResult =>
      html`<option value=${value} .selected=${value === this.other}>${words}</option>`;
    return html`<p class="sentence">
      <label for="compare-with">This house beside</label>
      <select id="compare-with" @change=${(e: Event) => (this.other = (e.target as HTMLSelectElement).value)}>
        ${option('', 'choose what')}
        ${
          this.others?.length
            ? html`<optgroup label="another house of the folder">
                ${this.others.map((h) => option(h.name, this.called(h)))}
              </optgroup>`
            : nothing
        }
        ${
          this.earlier.length
            ? html`<optgroup label="this house as it was at">
                ${this.earlier.map((r) => option(`@${r.number}`, `${time(r.at_s)}, ${r.what}`))}
              </optgroup>`
            : nothing
        }
      </select>
    </p>`;
  }

  render(): TemplateResult {
    if (!this.others) return html`<p class="quiet in-sheet" role="status">${this.trouble || 'One moment.'}</p>`;
    if (!this.others.length && !this.earlier.length)
      return html`<p class="lead in-sheet">
        There is nothing to put this house beside yet: no other house in the folder, and no earlier state of this one. A
        copy of it, begun among all houses, can be changed and compared.
      </p>`;
    return html`<div class="in-sheet compare">
      ${this.choice()}
      ${
        this.other
          ? nothing
          : html`<p class="quiet">
              Another house of the folder, or this one as it was: what each comes to, which promises either keeps, and
              what stands in one file and not in the other. Nothing is changed by looking.
            </p>`
      }
      ${this.trouble ? html`<p class="warning" role="alert">${this.trouble}</p>` : nothing}
      ${this.asking ? html`<p class="quiet" role="status">Both are being judged.</p>` : nothing}
      ${this.other && this.told && !this.asking && !this.trouble ? this.tables(this.told) : nothing}
    </div>`;
  }

  /* Amounts come in the smallest unit of the currency. */
  private money(minor: number, currency: string): string {
    const f = new Intl.NumberFormat(navigator.languages[0], { style: 'currency', currency });
    return f.format(minor / 10 ** (f.resolvedOptions().maximumFractionDigits ?? 2));
  }

  private tables(c: Compared): TemplateResult {
    const [a, b] = c.houses;
    const sides = this.sides(c);
    const differs = c.promises.filter((p) => !alike(p.sides[0], p.sides[1]));
    const shown = this.all ? c.promises : differs;
    const row = (name: string, of: (s: Side) => number, words: (n: number) => string): TemplateResult => {
      const apart = of(b) - of(a);
      return html`<tr>
        <th scope="row">${name}</th>
        <td class="figure">${words(of(a))}</td>
        <td class="figure">${words(of(b))}</td>
        <td class="figure">${apart ? `${apart > 0 ? '+' : '−'}${words(Math.abs(apart))}` : 'the same'}</td>
      </tr>`;
    };
    const plain = (n: number): string => number(n, 0);
    return html`<div class="table-place" tabindex="0" role="region" aria-label="what each comes to">
        <table class="wide-table">
          <caption>
            What each comes to
          </caption>
          <thead>
            <tr>
              <td></td>
              <th scope="col" class="figure">${sides.names[0]}</th>
              <th scope="col" class="figure">${sides.names[1]}</th>
              <th scope="col" class="figure">apart</th>
            </tr>
          </thead>
          <tbody>
            ${row('promises kept', (s) => s.kept, plain)} ${row('broken', (s) => s.broken, plain)}
            ${row('unknown', (s) => s.unknown, plain)}
            ${row(
              'to buy',
              (s) => s.total_minor,
              (n) => this.money(n, c.currency),
            )}
            ${row(
              'a year',
              (s) => s.yearly_minor,
              (n) => this.money(n, c.currency),
            )}
            ${row('access points', (s) => s.access_points, plain)} ${row('switches', (s) => s.switches, plain)}
            ${row(
              'cable',
              (s) => s.cable_m,
              (n) => `${number(n, 1)} m`,
            )}
          </tbody>
        </table>
      </div>
      <p class="ways">
        <button
          type="button"
          class="word"
          aria-pressed=${this.all ? 'true' : 'false'}
          @click=${() => (this.all = !this.all)}
        >
          ${this.all ? 'only what differs' : `all ${c.promises.length} promises`}
        </button>
      </p>
      ${shown.length ? this.promises(sides, shown) : html`<p>No promise differs.</p>`}
      <h2>What differs in the files</h2>
      ${differences(c.differences, sides)}`;
  }

  private promises(sides: Sides, shown: Compared['promises']): TemplateResult {
    return html`<div class="table-place" tabindex="0" role="region" aria-label="promises side by side">
      <table class="wide-table">
        <caption>
          ${this.all ? 'Promises' : 'Promises that differ'}
        </caption>
        <thead>
          <tr>
            <th scope="col">promise</th>
            <th scope="col">${sides.names[0]}</th>
            <th scope="col">${sides.names[1]}</th>
            <th scope="col" class="figure">apart</th>
          </tr>
        </thead>
        <tbody>
          ${shown.map(
            (p) =>
              html`<tr>
                <th scope="row">${p.says}</th>
                <td>${side(p.sides[0])}</td>
                <td>${side(p.sides[1])}</td>
                <td class="figure">${apart(p.sides[0], p.sides[1])}</td>
              </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
  }
}

const alike = (a: Of, b: Of): boolean => a.state === b.state && a.margin === b.margin;

const side = (s: Of): TemplateResult | string =>
  s.state === null
    ? 'not promised'
    : html`${mark(s.state)} ${s.state}${s.margin === null ? '' : `, ${`${signed(s.margin)} ${s.unit}`.trim()}`}`;

/* How much more of its margin the second has; only where both have one of the same kind. */
const apart = (a: Of, b: Of): string =>
  a.margin === null || b.margin === null || a.unit !== b.unit ? '' : `${signed(b.margin - a.margin)} ${a.unit}`.trim();
