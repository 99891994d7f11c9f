import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { CableEnd, InstallCable, InstallTest } from '../state/site';
import { settings } from '../state/settings';
import { length, number, readNumber, words } from '../units';
import { HouseView } from './base';

/* With the telephone in one hand and the drill in the other: the book's lists, to be ticked.  The server keeps what was done, and
   every browser sees it. */
@customElement('rt-install')
export class InstallView extends HouseView {
  @state() private wanted = ''; /* a label that is looked for */
  @state() private shut = new Set<string>();

  connectedCallback(): void {
    super.connectedCallback();
    this.house.site.watch();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.house.site.unwatch();
  }

  private get site() {
    return this.house.site;
  }

  /* ---- boxes ---- */

  private is(box: string): boolean {
    return this.site.done.get(box)?.is_ticked ?? false;
  }

  private tick(
    box: string,
    name: string,
    says: TemplateResult | string,
    quiet: TemplateResult | string = '',
  ): TemplateResult {
    return html`<label class="tick"
      ><input
        type="checkbox"
        .checked=${this.is(box)}
        @change=${(e: Event) => this.site.mark(box, name, { is_ticked: (e.target as HTMLInputElement).checked })}
      /><span>${says}${quiet ? html`<span class="quiet">${quiet}</span>` : nothing}</span></label
    >`;
  }

  private note(box: string, name: string): TemplateResult {
    const now = this.site.done.get(box)?.note ?? '';
    return html`<label class="note-line"
      ><span class="quiet">note</span
      ><input
        type="text"
        autocomplete="off"
        maxlength="2000"
        .value=${now}
        @change=${(e: Event) => this.site.mark(box, name, { note: (e.target as HTMLInputElement).value })}
    /></label>`;
  }

  private show(floor: string | null, name: string): TemplateResult | typeof nothing {
    if (!floor) return nothing;
    return html`<button
      type="button"
      class="word"
      aria-label=${`show ${name} on the plan`}
      @click=${() => this.house.set({ view: 'plan', floor })}
    >
      show
    </button>`;
  }

  private section(head: string, boxes: string[], body: TemplateResult): TemplateResult | typeof nothing {
    if (!boxes.length) return nothing;
    const n = boxes.filter((b) => this.is(b)).length;
    return html`<details
      class="install-part"
      ?open=${!this.shut.has(head)}
      @toggle=${(e: Event) => {
        if ((e.target as HTMLDetailsElement).open) this.shut.delete(head);
        else this.shut.add(head);
      }}
    >
      <summary>
        <h2>${head} <span class="quiet">${n} of ${boxes.length} done</span></h2>
      </summary>
      ${body}
    </details>`;
  }

  /* ---- the lists ---- */

  render(): TemplateResult {
    const list = this.site.list;
    if (!list) return html`<p class="quiet" role="status">${this.site.trouble || 'The lists are being made.'}</p>`;
    const cables = list.cables.filter((c) => this.isWanted(c));
    const groups = [...new Set(cables.map((c) => c.group))];
    const all = list.cables.flatMap((c) => c.boxes.map((b) => b.box));
    const tests = list.tests.flatMap((t) => t.rows.filter((r) => !r.is_further).map((r) => r.box));
    return html`<div class="install">
      ${this.site.trouble ? html`<p class="warning" role="alert">${this.site.trouble}</p>` : nothing}
      ${list.cautions.length ? html`<p class="caution">${list.cautions[0]}</p>` : nothing}
      ${
        list.cables.length
          ? html`<label class="filter"
              >which cable is
              <input
                type="search"
                placeholder="its label"
                autocapitalize="none"
                .value=${this.wanted}
                @input=${(e: Event) => (this.wanted = (e.target as HTMLInputElement).value)}
            /></label>`
          : nothing
      }
      ${
        this.wanted
          ? html`<p class="quiet" role="status">
                ${cables.length ? `${cables.length} of ${list.cables.length} cables` : `no cable has that on its label`}
              </p>
              ${cables.map((c) => this.cable(c, 2))}`
          : html`${this.gone()}
              ${this.section(
                'The order of work',
                list.order.map((o) => o.box),
                html`<ol class="ticks">
                  ${list.order.map((o) => html`<li>${this.tick(o.box, o.says, o.says, o.minds)}</li>`)}
                </ol>`,
              )}
              ${this.section(
                'Fix',
                list.fix.map((f) => f.box),
                html`<ul class="ticks">
                  ${list.fix.map((f) => this.fixed(f))}
                </ul>`,
              )}
              ${this.section(
                'Drill and lift',
                list.work.map((w) => w.box),
                html`<ul class="ticks">
                  ${list.work.map(
                    (w) =>
                      html`<li class=${this.is(w.box) ? 'is-done' : ''}>
                        ${this.tick(
                          w.box,
                          `${w.mark}, ${w.where}`,
                          html`<b>${w.mark}</b> ${w.where}`,
                          [w.through, w.bit_mm ? `bit ${w.bit_mm} mm` : '', `for ${w.cables.join(', ')}`, w.caution]
                            .filter(Boolean)
                            .join('; '),
                        )}
                        ${this.show(w.floor, w.mark)}
                      </li>`,
                  )}
                </ul>`,
              )}
              ${this.section(
                'Lay and label',
                all,
                html`${groups.map(
                  (g) =>
                    html`${g ? html`<h3>${g}</h3>` : nothing}
                    ${cables.filter((c) => c.group === g).map((c) => this.cable(c, g ? 4 : 3))}`,
                )}`,
              )}
              ${this.section('Tests of the day', tests, html`${list.tests.map((t) => this.test(t))}`)}
              <section>
                <h2>Levels</h2>
                <p>Tap a spot of the plan to note what a telephone reads there.</p>
                <p class="ways">
                  <button
                    type="button"
                    class="word"
                    @click=${() => this.house.set({ view: 'plan', quantity: 'level' })}
                  >
                    to the plan
                  </button>
                  <button type="button" class="word" @click=${() => this.house.set({ view: 'readings' })}>
                    all readings
                  </button>
                </p>
              </section>
              <section>
                <h2>On paper</h2>
                <p>
                  <a href=${`${this.house.path}/book.pdf`} target="_blank" rel="noopener">the hand-over book, as PDF</a>
                </p>
              </section>`
      }
    </div>`;
  }

  /* What was ticked or read of things that the house has no more. */
  private gone(): TemplateResult | typeof nothing {
    const gone = this.site.gone;
    if (!gone.length) return nothing;
    return html`<section class="warning" aria-label="No longer in the house">
      <p><strong>The house has changed: these are in it no more.</strong></p>
      <ul>
        ${gone.map(
          (d) =>
            html`<li>
              ${d.name || d.box}${d.is_ticked ? ', was done' : ''}${d.read === null ? '' : `, read ${number(d.read, 2)}`}${d.note ? `: ${d.note}` : ''}
              <button
                type="button"
                class="word"
                @click=${() => this.site.mark(d.box, d.name, { is_ticked: false, note: '', read: null })}
              >
                forget it
              </button>
            </li>`,
        )}
      </ul>
    </section>`;
  }

  private fixed(f: NonNullable<typeof this.site.list>['fix'][number]): TemplateResult {
    const up = f.at_m ? `${length(f.at_m[2], settings.unit)} up` : '';
    return html`<li class=${this.is(f.box) ? 'is-done' : ''}>
      ${this.tick(
        f.box,
        f.id,
        html`<b>${words(f.id)}</b>${up ? html`, ${up}` : nothing}`,
        html`${lines(f.what)}${lines(f.where)}${lines(f.how)}${lines(f.arrives)}`,
      )}
      ${this.show(f.floor, f.id)}
    </li>`;
  }

  private isWanted(c: InstallCable): boolean {
    const wanted = this.wanted.trim().toLowerCase();
    const said = [c.id, c.from.what, c.from.room, c.from.label_far, c.to.what, c.to.room, c.to.label_far].join(' ');
    return said.toLowerCase().includes(wanted) || words(said).toLowerCase().includes(wanted);
  }

  private end(way: string, e: CableEnd): TemplateResult {
    return html`<div>
      <dt>${way}</dt>
      <dd>
        ${e.place}<span class="cable-label"><b>${e.label}</b> ${e.label_far}</span>
      </dd>
    </div>`;
  }

  /* `level`: of its head, one below what it stands under. */
  private cable(c: InstallCable, level: number): TemplateResult {
    const done = c.boxes.every((b) => this.is(b.box));
    return html`<article class=${done ? 'cable is-done' : 'cable'} aria-label=${`cable ${c.id}`}>
      <header>
        <h4 aria-level=${level}>${c.id}</h4>
        <span class="figure">${c.length_m === null ? 'length not known' : length(c.length_m, settings.unit, 1)}</span>
        ${this.show(c.floor, c.id)}
      </header>
      <dl class="ends">${this.end('from', c.from)}${this.end('to', c.to)}</dl>
      <div class="cable-ticks">${c.boxes.map((b) => this.tick(b.box, `${c.id} ${b.says}`, b.says))}</div>
      <details>
        <summary>its way, what it carries, a note</summary>
        <p>${c.kind}</p>
        <p>${c.feeds}; ${c.carries}</p>
        ${c.way ? html`<p class="way-steps">${lines(c.way)}</p>` : nothing}
        ${this.note(c.boxes[c.boxes.length - 1].box, c.id)}
      </details>
    </article>`;
  }

  /* ---- tests, with what was read ---- */

  private test(t: InstallTest): TemplateResult {
    const first = t.rows.filter((r) => !r.is_further);
    const further = t.rows.filter((r) => r.is_further);
    return html`<article class="test">
      <h3>${t.says}</h3>
      <p class="quiet">${t.how}</p>
      ${t.note ? html`<p class="quiet">${t.note}</p>` : nothing}
      <ul class="ticks">
        ${first.map((r) => this.testRow(r))}
      </ul>
      ${
        further.length
          ? html`<details>
              <summary>${further.length} further spots</summary>
              <ul class="ticks">
                ${further.map((r) => this.testRow(r))}
              </ul>
            </details>`
          : nothing
      }
    </article>`;
  }

  private testRow(r: InstallTest['rows'][number]): TemplateResult {
    const d = this.site.done.get(r.box);
    const name = `test ${r.number}: ${r.where}`;
    return html`<li class="test-row">
      ${this.tick(
        r.box,
        name,
        html`<b>${r.number}</b> ${r.where}`,
        [`passes: ${r.passes}`, r.computed ? `expected: ${r.computed}` : ''].filter(Boolean).join('; '),
      )}
      ${
        r.unit
          ? html`<label class="read"
                ><span class="quiet">read, ${r.unit}</span
                ><input
                  type="text"
                  inputmode="text"
                  autocomplete="off"
                  .value=${d?.read === null || d === undefined ? '' : number(d.read, 2)}
                  @change=${(e: Event) => {
                    const text = (e.target as HTMLInputElement).value;
                    const read = readNumber(text);
                    if (read === null && text.trim()) return this.house.say(`“${text}” is no figure`);
                    void this.site.mark(r.box, name, { read });
                  }} /></label
              ><span class=${d?.passed === false ? 'verdict-word is-short' : 'verdict-word'} role="status"
                >${d?.passed === true ? 'passes' : d?.passed === false ? 'falls short' : ''}</span
              >`
          : nothing
      }
    </li>`;
  }
}

/* A text of several lines, as the book has it. */
const lines = (text: string): TemplateResult | typeof nothing =>
  text ? html`${text.split('\n').map((l) => html`<span class="line">${l}</span>`)}` : nothing;
