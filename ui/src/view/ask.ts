import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { getJson, query, Refused } from '../api/client';
import type { Asked } from '../api/types';
import { endsOf, type End } from '../state/ends';
import { HouseView } from './base';
import { endOptions, servicesOf } from './statement';

/* May these two talk: a sentence with choices, and the packet's way as the answer. */
@customElement('rt-ask')
export class AskView extends HouseView {
  @state() private from = '';
  @state() private to = '';
  @state() private service = '';
  @state() private when = '';
  @state() private trouble = '';

  private ask = async (e: Event): Promise<void> => {
    e.preventDefault();
    try {
      const when = this.when.replace('T', ' ');
      const q = query({ from: this.from, to: this.to, service: this.service, when });
      this.house.step = -1;
      this.house.asked = (await getJson<Asked>(`${this.house.path}/ask?${q}`)).body;
      this.trouble = '';
      this.house.say(this.house.asked.reason);
    } catch (err) {
      if (!(err instanceof Refused)) throw err;
      this.house.asked = null;
      this.trouble = [err.message, err.problems[0]?.hint].filter(Boolean).join('; ');
    }
  };

  private choose(name: string, now: string, ends: End[], set: (v: string) => void): TemplateResult {
    return html`<select aria-label=${name} required @change=${(e: Event) => set((e.target as HTMLSelectElement).value)}>
      <option value="" .selected=${!now}>…</option>
      ${endOptions(ends, now)}
    </select>`;
  }

  render(): TemplateResult {
    const ends = endsOf(this.house.data).filter((e) => e.value !== 'anyone');
    return html`<section class="ask" aria-labelledby="ask-head">
      <h2 id="ask-head">Who may talk</h2>
      <form class="sentence" aria-labelledby="ask-head" @submit=${this.ask}>
        May ${this.choose('who', this.from, ends, (v) => (this.from = v))} start talk with
        ${this.choose('with whom', this.to, ends, (v) => (this.to = v))} for
        <select aria-label="for what" @change=${(e: Event) => (this.service = (e.target as HTMLSelectElement).value)}>
          <option value="">anything it offers</option>
          ${servicesOf(this.house).map((n) => html`<option value=${n}>${n}</option>`)}
        </select>
        at
        <input
          type="datetime-local"
          aria-label="when; left empty: now"
          .value=${this.when}
          @change=${(e: Event) => (this.when = (e.target as HTMLInputElement).value)}
        />
        <button class="main">ask</button>
      </form>
      ${this.trouble ? html`<p class="warning" role="alert">${this.trouble}</p>` : nothing}
      ${this.house.asked ? this.told(this.house.asked) : nothing}
    </section>`;
  }

  private told(a: Asked): TemplateResult {
    return html`<div class="answer" aria-live="polite">
      <p class="verdict">${a.verdict}</p>
      <p>${a.reason}</p>
      <p class="quiet">${a.when}</p>
      ${
        a.steps.length
          ? html`<h3>The packet's way</h3>
              <ol class="way" @mouseleave=${() => this.mark(-1)}>
                ${a.steps.map(
                  (step, i) =>
                    html`<li class=${this.house.step === i ? 'is-marked' : ''} @mouseenter=${() => this.mark(i)}>
                      <button type="button" class="word" @focus=${() => this.mark(i)} @blur=${() => this.mark(-1)}>
                        ${step.says}
                      </button>
                    </li>`,
                )}
              </ol>`
          : nothing
      }
      ${
        a.rule?.statement
          ? html`<p>
              <button type="button" class="word" @click=${() => this.openStatement(a.rule?.statement ?? '')}>
                the statement that decides: ${a.rule.says || a.rule.statement}
              </button>
            </p>`
          : nothing
      }
    </div>`;
  }

  /* A step that is pointed at is marked on the drawing. */
  private mark(step: number): void {
    if (this.house.step === step) return;
    this.house.step = step;
    this.house.tell();
  }

  private openStatement(id: string): void {
    const at = this.house.list('statements').findIndex((s) => (s as { id?: string }).id === id);
    if (at >= 0) this.house.set({ side: 'change', section: 'statements', item: String(at) });
  }
}
