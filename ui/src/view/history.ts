import { html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import { time } from '../units';
import { HouseView } from './base';

/* What was changed, the newest first, and how the promises stood. */
@customElement('rt-history')
export class HistoryView extends HouseView {
  render(): TemplateResult {
    const h = this.house.history;
    if (!h) return html`<p class="quiet in-sheet">One moment.</p>`;
    return html`<div class="in-sheet">
      <table class="wide-table">
        <caption>
          Every change is a revision; any of them can be had back
        </caption>
        <thead>
          <tr>
            <th scope="col">revision</th>
            <th scope="col">when</th>
            <th scope="col">what</th>
            <th scope="col">promises</th>
            <th scope="col"><span class="unseen">do</span></th>
          </tr>
        </thead>
        <tbody>
          ${repeat(
            h.revisions,
            (r) => r.number /* the focus stays with its revision when another comes above it */,
            (r) =>
              html`<tr class=${r.number === h.at ? 'is-now' : ''}>
                <td class="figure">${r.number}</td>
                <td>${time(r.at_s)}</td>
                <td>${r.what}</td>
                <td>
                  ${
                    r.kept === undefined
                      ? html`<span class="quiet">not judged</span>`
                      : html`${r.kept} kept, ${r.broken} broken${r.unknown ? `, ${r.unknown} unknown` : ''}`
                  }
                </td>
                <td>
                  ${
                    r.number === h.at
                      ? html`<b>as it is</b>`
                      : html`<button
                          type="button"
                          class="word"
                          aria-label=${`have it back: revision ${r.number}`}
                          @click=${() => this.house.restore(r.number)}
                        >
                          have it back
                        </button>`
                  }
                </td>
              </tr>`,
          )}
        </tbody>
      </table>
      ${h.revisions.length >= 200 ? html`<p class="quiet">The last 200.</p>` : nothing}
    </div>`;
  }
}
