import { html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { PromiseResult } from '../api/types';
import { isDrawn } from '../state/house';
import { missing } from '../state/missing';
import { isDict } from '../state/schema';
import { signed } from '../units';
import { HouseView, refocus } from './base';
import { evidence } from './evidence';
import { mark, problemList } from './parts';

/* The promises, grouped by what they are about; one can be chosen, and then says why. */

const GROUPS: { head: string; kinds: string[] }[] = [
  { head: 'Signal', kinds: ['signal', 'rate', 'roaming', 'quiet', 'exposure'] },
  { head: 'Apart and through', kinds: ['apart', 'reach', 'hours'] },
  { head: 'Wires and power', kinds: ['cable', 'power', 'outage', 'survive'] },
  { head: 'Line and pictures', kinds: ['line', 'recording'] },
  { head: 'Money and growth', kinds: ['cost', 'growth'] },
];

/* What is proven for all packets has no figure. */
const PROVEN = new Set(['apart', 'reach', 'hours']);

export function marginOf(p: PromiseResult): string {
  if (p.state === 'unknown') return 'a fact is missing';
  if (PROVEN.has(p.kind)) return p.state === 'kept' ? 'proven' : 'disproved';
  if (p.margin === null) return '';
  return `${signed(p.margin)} ${p.unit}`.trim();
}

@customElement('rt-promises')
export class PromisesView extends HouseView {
  private failed = '';

  /* Whoever asked what a failure does, or took it back, was where nothing of it stands any more: on from what it does, or the promises. */
  protected updated(): void {
    const failed = this.house.failure ? this.house.look.failure : '';
    if (failed === this.failed) return;
    this.failed = failed;
    requestAnimationFrame(() => refocus(this, '.after-failure h2, .promise button'));
  }

  private choose(p: PromiseResult): void {
    const again = this.house.look.promise === p.id;
    if (again) return this.house.set({ promise: '' });
    const spot = p.evidence.worst_spot as { floor?: string } | undefined;
    const band = typeof p.evidence.band === 'string' ? p.evidence.band : this.house.look.band;
    const onDrawing = isDrawn(this.house.look.view);
    this.house.set({
      promise: p.id,
      ...(spot?.floor ? { floor: spot.floor, band, quantity: quantityOf(p, this.house.look.quantity) } : {}),
      ...(!onDrawing && spot ? { view: 'apart' as const } : {}),
    });
  }

  render(): TemplateResult {
    if (this.house.trouble.length)
      return html`<section aria-label="Why the promises cannot be judged">${problemList(this.house.trouble)}</section>`;
    const judged = new Map(this.house.judged.map((p) => [p.id, p]));
    const all = this.house.promises ? [...judged.values()] : this.promised();
    if (!all.length)
      return html`<p>Nothing was promised yet.</p>
        <p>
          <button
            type="button"
            class="word"
            @click=${() => this.house.set({ side: 'change', section: 'promises', item: '+' })}
          >
            write the first promise
          </button>
        </p>`;
    const groups = GROUPS.map((g) => ({ ...g, list: all.filter((x) => g.kinds.includes(x.kind)) })).filter(
      (g) => g.list.length,
    );
    return html`<div class="promises">
      ${this.afterFailure()}
      ${groups.map(
        (g, i) =>
          html`<section aria-labelledby=${`group-${i}`}>
            <h2 id=${`group-${i}`}>${g.head}</h2>
            <ul>
              ${g.list.map((x) => {
                const known = judged.get(x.id);
                return known ? this.row(known) : this.awaited(x.says);
              })}
            </ul>
          </section>`,
      )}
      ${this.next()}
    </div>`;
  }

  /* Once all is there that is needed: what can be done with it. */
  private next(): TemplateResult | typeof nothing {
    if (missing(this.house)) return nothing;
    const go = (side: 'design' | 'install', word: string): TemplateResult =>
      html`<button type="button" class="word" @click=${() => this.house.set({ side })}>${word}</button>`;
    return html`<p class="ways">
      ${go('design', 'find the least costly house that keeps them')} ${go('install', 'the lists for the hands')}
      <a href=${`${this.house.path}/book.pdf`} target="_blank" rel="noopener">the hand-over book, as PDF</a>
    </p>`;
  }

  /* What the failure on the drawing breaks. */
  private afterFailure(): TemplateResult | typeof nothing {
    const f = this.house.failure;
    if (!f) return nothing;
    const says = new Map((this.house.promises?.promises ?? []).map((p) => [p.id, p.says]));
    const hit = f.promises.filter((p) => p.by_this);
    return html`<section class="after-failure" aria-labelledby="after-failure-head">
      <h2 id="after-failure-head" tabindex="-1">When ${f.says} fails</h2>
      ${
        hit.length
          ? html`<ul class="plain">
              ${hit.map((p) => html`<li>${mark(p.state)} ${says.get(p.id) ?? p.id} <span class="quiet">${p.reason}</span></li>`)}
            </ul>`
          : html`<p class="quiet">No promise breaks that the whole house keeps.</p>`
      }
      <p>
        <button type="button" class="word" @click=${() => this.house.set({ failure: '' })}>
          as if nothing had failed
        </button>
        <button type="button" class="word" @click=${() => this.house.set({ view: 'failures' })}>all failures</button>
      </p>
    </section>`;
  }

  /* The promises as the house file has them, before anything is judged. */
  private promised(): { id: string; kind: string; says: string }[] {
    return Object.entries(this.house.section('promises')).flatMap(([id, v]) =>
      isDict(v) ? [{ id, kind: String(v.kind), says: String(v.says) }] : [],
    );
  }

  private awaited(says: string): TemplateResult {
    return html`<li class="promise-awaited">
      <span class="says">${says}</span><span class="margin">being judged</span>
    </li>`;
  }

  private row(p: PromiseResult): TemplateResult {
    const chosen = this.house.look.promise === p.id;
    return html`<li class=${`promise is-${p.state}${chosen ? ' is-chosen' : ''}`}>
      <button type="button" aria-expanded=${chosen ? 'true' : 'false'} @click=${() => this.choose(p)}>
        ${mark(p.state)}<span class="says">${p.says}</span><span class="margin">${marginOf(p)}</span>
      </button>
      ${chosen ? evidence(this.house, p) : nothing}
    </li>`;
  }
}

function quantityOf(p: PromiseResult, now: 'none' | 'level' | 'rate' | 'second'): 'none' | 'level' | 'rate' | 'second' {
  if (p.kind === 'signal') return 'level';
  if (p.kind === 'rate') return 'rate';
  if (p.kind === 'roaming') return 'second';
  return now;
}
