import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { Refused } from '../api/client';
import { failureName } from '../state/house';
import { words } from '../units';
import { HouseView } from './base';
import { mark } from './parts';

/* Every single failure, and which promises it breaks. */
@customElement('rt-failures')
export class FailuresView extends HouseView {
  @state() private trouble = '';
  private of = '';

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    if (this.house.state === this.of) return;
    this.of = this.house.state;
    if (this.house.failuresOf !== this.of) void this.read();
  }

  private async read(): Promise<void> {
    try {
      await this.house.readFailures();
      this.trouble = '';
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.trouble = e.message;
    }
  }

  render(): TemplateResult {
    if (this.trouble) return html`<p class="warning in-sheet">The failures cannot be worked out: ${this.trouble}</p>`;
    if (!this.house.failures)
      return html`<p class="quiet in-sheet">
        Each thing that can fail is taken out in turn, and every promise judged again.
      </p>`;
    const says = new Map((this.house.promises?.promises ?? []).map((p) => [p.id, p.says]));
    const order = [...this.house.failures].sort((a, b) => b.broken - a.broken);
    return html`<div class="in-sheet">
      <table class="wide-table failures-table">
        <caption>
          What each single failure breaks of what the whole house keeps
        </caption>
        <thead>
          <tr>
            <th scope="col">what fails</th>
            <th scope="col">breaks</th>
            <th scope="col">which promises, and why</th>
          </tr>
        </thead>
        <tbody>
          ${order.map((f) => {
            const hit = f.promises.filter((p) => p.by_this);
            return html`<tr>
              <th scope="row">
                ${f.says}
                <button
                  type="button"
                  class="word"
                  aria-label=${`show on the drawing what goes when ${f.says} fails`}
                  @click=${() => this.house.set({ view: 'apart', failure: failureName(f), side: 'promises' })}
                >
                  show on the drawing
                </button>
                <span class="quiet"
                  >${f.line_lost ? 'no internet any more' : ''}${f.lost.length ? `${f.line_lost ? '; ' : ''}${f.lost.length} things go with it` : ''}</span
                >
              </th>
              <td class="figure">${f.broken}</td>
              <td>
                ${
                  hit.length
                    ? html`<ul class="plain">
                        ${hit.map((p) => html`<li>${mark(p.state)} ${says.get(p.id) ?? words(p.id)} <span class="quiet">${p.reason}</span></li>`)}
                      </ul>`
                    : html`<span class="quiet">none</span>`
                }
                ${
                  f.lost.length > 0
                    ? html`<details>
                        <summary>what goes with it</summary>
                        <p>
                          ${f.lost.map((l) => `${words(l.id)} (${words(l.state)}${l.because ? `: ${l.because}` : ''})`).join('; ')}
                        </p>
                      </details>`
                    : nothing
                }
              </td>
            </tr>`;
          })}
        </tbody>
      </table>
    </div>`;
  }
}
