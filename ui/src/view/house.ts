import { html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Problem } from '../api/client';
import { SIDES } from '../state/look';
import { missing } from '../state/missing';
import { HouseView, refocus } from './base';
import { others } from './fetched';
import { choices, preferences, problemList } from './parts';
import './promises';
import './sheet';

const PAGES: { value: 'list' | 'sheet'; word: string }[] = [
  { value: 'list', word: 'list' },
  { value: 'sheet', word: 'sheet' },
];

/* An open house: on the left what was promised, or what is changed; on the right the sheet. */
@customElement('rt-house')
export class HouseScreen extends HouseView {
  connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener('keydown', this.onKey);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener('keydown', this.onKey);
  }

  /* What was done is told, and then leaves the sheet free again. */
  private told = '';
  private timer = 0;

  protected updated(): void {
    const said = this.house.said;
    if (said === this.told) return;
    this.told = said;
    window.clearTimeout(this.timer);
    if (said) this.timer = window.setTimeout(() => this.house.said === said && this.house.say(''), 8000);
  }

  private onKey = (e: KeyboardEvent): void => {
    if (!(e.ctrlKey || e.metaKey) || e.altKey || e.key.toLowerCase() !== 'z') return;
    const target = e.target as HTMLElement;
    /* in a field, the browser takes back what was typed */
    if (target.matches('input, textarea, select')) return;
    e.preventDefault();
    void (e.shiftKey ? this.house.redo() : this.house.undo());
  };

  private tally(): TemplateResult | typeof nothing {
    const p = this.house.promises;
    if (!p) {
      return this.house.judging
        ? html`<p class="tally">The promises are being judged${this.soFar()}.</p>`
        : html`<p class="tally">The promises cannot be judged.</p>`;
    }
    if (!p.promises.length) return nothing; /* the list of promises says so, and what is missing next */
    const { kept, broken, unknown } = p.counts;
    const stale = this.house.promisesOf !== this.house.state;
    return html`<p class="tally">
      <b>${kept} kept</b>, ${broken} broken, ${unknown} unknown · ${p.estimate}
      estimate${stale ? html` · <i>judged anew</i>` : nothing}
    </p>`;
  }

  private soFar(): string {
    const [done, all] = [this.house.judged.length, Object.keys(this.house.section('promises')).length];
    return done ? `: ${done} of ${all}` : '';
  }

  /* What is still missing, one thing at a time. */
  private next(): TemplateResult | typeof nothing {
    const { side, section } = this.house.look;
    const m = missing(this.house);
    if (!m || (side === 'change' && !section)) return nothing; /* that list says it all */
    const go = (e: Event): void => {
      e.preventDefault();
      this.house.set(m.look);
    };
    return html`<p class="next">${m.says} <a href="#sheet" @click=${go}>${m.link}</a>.</p>`;
  }

  private undo = (): Promise<void> => this.step(this.house.undo);
  private redo = (): Promise<void> => this.step(this.house.redo);

  private async step(take: () => Promise<unknown>): Promise<void> {
    await take();
    await this.house.readHistory();
    await this.updateComplete;
    refocus(this, '.steps button:not(:disabled), h1');
  }

  private steps(): TemplateResult {
    const h = this.house.history;
    return html`<div class="steps" role="group" aria-label="Steps">
      <button type="button" class="word" ?disabled=${!h?.can_undo} @click=${this.undo} title="Ctrl-Z">undo</button>
      <button type="button" class="word" ?disabled=${!h?.can_redo} @click=${this.redo} title="Ctrl-Shift-Z">
        redo
      </button>
    </div>`;
  }

  /* What is wrong in one of the two files, the parts first: what is wrong in the house may follow from it. */
  private wrong(file: 'parts' | 'house'): TemplateResult | typeof nothing {
    const { house } = this;
    const fileOf = (p: Problem): string =>
      (p.file ?? `${house.name}.house.yaml`) === `${house.name}.house.yaml` ? 'house' : 'parts';
    const list = (house.model?.problems ?? []).filter((p) => !p.is_warning && fileOf(p) === file);
    if (!list.length) return nothing;
    return html`<section class="warning" aria-label=${`What is wrong in the ${file} file`}>
      <h2>The ${file} file cannot be read as it is</h2>
      ${problemList(list)}
      <button type="button" class="word" @click=${() => house.set({ view: file === 'parts' ? 'parts' : 'text' })}>
        ${file === 'parts' ? 'see the parts' : 'open it as text'}
      </button>
    </section>`;
  }

  render(): TemplateResult {
    const house = this.house;
    return html`<a class="skip" href="#sheet" @click=${this.skip}>to the sheet</a>
      <div class="house-screen" data-page=${house.look.page || 'list'}>
        <div class="pages">
          ${choices('Page', PAGES, house.look.page || 'list', (page) => house.set({ page }))} ${this.steps()}
        </div>
        <aside class="side" aria-label=${house.title}>
          <header>
            <div class="side-head">
              <nav aria-label="Houses"><a href="#">all houses</a></nav>
              ${this.steps()}
            </div>
            <h1 tabindex="-1">${house.title}</h1>
            ${this.tally()} ${this.next()}
            <div class="side-head sides">
              ${choices('Left side', SIDES, house.look.side, (side) => house.set({ side }))}
            </div>
            ${this.wrong('parts')} ${this.wrong('house')}
          </header>
          ${this.side()}
          <footer>${preferences()}</footer>
        </aside>
        <main class="sheet-place" id="sheet" tabindex="-1" aria-label="Sheet">
          <rt-sheet .house=${house}></rt-sheet>
        </main>
      </div>
      <p class="said" role="status" aria-live="polite">${house.said}</p>`;
  }

  private skip = (e: Event): void => {
    e.preventDefault();
    this.querySelector<HTMLElement>('#sheet')?.focus();
  };

  private side(): TemplateResult {
    switch (this.house.look.side) {
      case 'change':
        return others.show(html`<rt-change .house=${this.house}></rt-change>`, this.drawAnew);
      case 'ask':
        return others.show(html`<rt-ask .house=${this.house}></rt-ask>`, this.drawAnew);
      case 'design':
        return others.show(html`<rt-design .house=${this.house}></rt-design>`, this.drawAnew);
      case 'install':
        return others.show(html`<rt-install .house=${this.house}></rt-install>`, this.drawAnew);
      default:
        return html`<rt-promises .house=${this.house}></rt-promises>`;
    }
  }
}
