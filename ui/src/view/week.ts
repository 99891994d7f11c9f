import { html, nothing, svg, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Dict, Json } from '../api/types';
import { asText } from '../state/pointer';
import { number, words } from '../units';
import { HouseView } from './base';
import { hoursGrid } from './hours';

/* The week: what the line is asked for in each of its hours, and the hours that statements name. */

interface Way {
  way: string;
  line_mbps: number;
  payload_mbps: number;
  worst_hour: { says: string; hour_of_week: number; needed_mbps: number | null };
  mean_mbps: number[];
  needed_mbps: number[];
}

const DAY_NAMES = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];

@customElement('rt-week')
export class WeekView extends HouseView {
  render(): TemplateResult {
    const line = this.house.promises?.promises.find((p) => p.kind === 'line');
    const ways = (line?.evidence.ways as unknown as Way[] | undefined) ?? [];
    const hours = Object.entries(this.house.section('hours'));
    return html`<div class="in-sheet week">
      ${
        ways.length
          ? ways.map((w) => this.chart(w))
          : html`<p class="quiet">No promise speaks of the line, so what it is asked for was not worked out.</p>`
      }
      ${
        hours.length
          ? html`<section aria-labelledby="hours-head">
              <h3 id="hours-head">Hours</h3>
              <div class="hours-list">
                ${hours.map(
                  ([id, h]) =>
                    html`<figure>
                      <figcaption>
                        <button
                          type="button"
                          class="word"
                          @click=${() => this.house.set({ side: 'change', section: 'hours', item: id })}
                        >
                          ${asText((h as Dict).says) || words(id)}
                        </button>
                      </figcaption>
                      ${hoursGrid(h as Dict)} ${this.used(id)}
                    </figure>`,
                )}
              </div>
            </section>`
          : nothing
      }
    </div>`;
  }

  private used(id: string): TemplateResult {
    const by = this.house.list('statements').filter((s) => (s as Dict).hours === id) as Dict[];
    return by.length
      ? html`<p class="quiet">${by.map((s) => asText(s.says as Json) || asText(s.id)).join('; ')}</p>`
      : html`<p class="quiet">no statement uses them</p>`;
  }

  private chart(w: Way): TemplateResult {
    const wide = 840,
      high = 120,
      left = 44;
    const most = Math.max(...w.needed_mbps.map((v) => v ?? 0), 1);
    const top = most * 1.15;
    const y = (v: number): number => 8 + high - (Math.min(v, top) / top) * high;
    const bar = wide / 168;
    const worst = w.worst_hour;
    return html`<figure class="chart">
      <figcaption>
        <b>${w.way}</b>: the line carries ${number(w.payload_mbps, 0)} Mb/s; most is asked
        ${worst.says}${worst.needed_mbps === null ? '' : `, ${number(worst.needed_mbps)} Mb/s`}
      </figcaption>
      <svg
        viewBox=${`0 0 ${wide + left + 6} ${high + 34}`}
        role="img"
        aria-label=${`${w.way}: megabits a second that suffice in each hour of the week`}
      >
        ${w.needed_mbps.map(
          (v, i) =>
            svg`<rect class=${i === worst.hour_of_week ? 'needed is-worst' : 'needed'} x=${left + i * bar} y=${y(v ?? top)} width=${bar - 0.6} height=${8 + high - y(v ?? top)}></rect>
              <rect class="mean" x=${left + i * bar} y=${y(w.mean_mbps[i] ?? 0)} width=${bar - 0.6} height=${8 + high - y(w.mean_mbps[i] ?? 0)}></rect>`,
        )}
        <path class="axis" d=${`M${left} ${8 + high}H${left + wide}`}></path>
        ${DAY_NAMES.map(
          (d, i) => svg`<path class="axis" d=${`M${left + i * 24 * bar} ${8 + high}v6`}></path>
            <text x=${left + (i * 24 + 12) * bar} y=${high + 26} text-anchor="middle">${d}</text>`,
        )}
        <text x=${left - 6} y=${y(most) + 4} text-anchor="end">${number(most, 0)}</text>
        <text x=${left - 6} y=${8 + high} text-anchor="end">0</text>
      </svg>
      <p class="quiet">light: what suffices at the promised probability; dark: the mean. Mb/s.</p>
    </figure>`;
  }
}
