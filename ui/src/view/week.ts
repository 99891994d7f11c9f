import { html, nothing, svg, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Dict, Json } from '../api/types';
import { asText } from '../state/pointer';
import { number, words } from '../units';
import { hoursGrid } from './hours';
import { Told } from './network';

/* The week: what is asked of the line and of each radio's channel in each of its hours, the busiest marked and said; and the hours that
   statements name.  The numbers are those of the drawings of the week and the load. */

interface Way {
  capacity_mbps: number | null;
  fullest_hour: number;
  hours: { mean_mbps: number; needed_mbps: number | null; short_share: number | null }[];
}

interface Radio {
  equipment: string;
  band: string;
  own: number[];
  beacons: number[];
  own_radios: number[];
  neighbours: number[];
  mesh: number[];
}

interface Week {
  line: { probability: number; is_promised: boolean; down: Way; up: Way } | null;
  radios: Radio[];
}

interface Chart {
  id: string;
  head: TemplateResult;
  key: string; /* what stands behind and in front */
  all: (number | null)[]; /* the height of a bar; null: more than can be said */
  part: number[]; /* what stands in front of it */
  busy: number; /* the hour that is marked; -1: none, all are alike */
  full: number | null; /* a line across: what there is */
  figure: (value: number) => string;
}

const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];
const HOURS = 24;

const clock = (hour: number): string => `${String(hour % HOURS).padStart(2, '0')}:00`;
const hourName = (hour: number): string =>
  `${DAYS[Math.floor(hour / HOURS)]} ${hour % HOURS} to ${(hour % HOURS) + 1} h`;
const percent = (share: number): string => `${number(share * 100, share < 0.1 ? 1 : 0)} %`;

function busiest(values: number[]): number {
  return values.reduce((best, v, i) => (v > values[best] ? i : best), 0);
}

@customElement('rt-week')
export class WeekView extends Told<Week> {
  protected readonly asks = 'week';

  protected rows(w: Week): TemplateResult {
    const hours = Object.entries(this.house.section('hours'));
    return html`<div class="week">
      <section aria-labelledby="week-line">
        <h3 id="week-line">The line</h3>
        ${
          w.line
            ? html`<p class="quiet">
                  What suffices in ${percent(w.line.probability)} of the
                  time${w.line.is_promised ? ', as was promised' : '; nothing was promised of it'}.
                </p>
                ${this.chart(wayOf('down', w.line.down))} ${this.chart(wayOf('up', w.line.up))}`
            : html`<p class="quiet">The house has no line, or nobody asks anything of it.</p>`
        }
      </section>
      <section aria-labelledby="week-air">
        <h3 id="week-air">The air</h3>
        ${w.radios.length ? w.radios.map((r) => this.chart(airOf(r))) : html`<p class="quiet">The house has no radios yet.</p>`}
      </section>
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

  private chart(c: Chart): TemplateResult {
    const wide = 840,
      high = 110,
      left = 52;
    const most = Math.max(...c.all.map((v) => v ?? 0), 1e-6);
    const full = c.full !== null && c.full < 3 * most ? c.full : null; /* far above all bars it is only said */
    const top = Math.max(most, full ?? 0) * 1.12;
    const y = (v: number): number => 8 + high - (Math.min(v, top) / top) * high;
    const bar = wide / c.all.length;
    return html`<figure class="chart">
      <figcaption>${c.head}</figcaption>
      <div class="chart-place" tabindex="0" role="region" aria-label=${`${c.id}: the hours of the week`}>
        <svg viewBox=${`0 0 ${wide + left + 6} ${high + 34}`} aria-hidden="true">
          ${c.all.map(
            (v, i) =>
              svg`<rect class=${i === c.busy ? 'needed is-worst' : 'needed'} x=${left + i * bar} y=${y(v ?? top)} width=${bar - 0.6} height=${8 + high - y(v ?? top)}></rect>
              <rect class="mean" x=${left + i * bar} y=${y(c.part[i])} width=${bar - 0.6} height=${8 + high - y(c.part[i])}></rect>`,
          )}
          <path class="axis" d=${`M${left} ${8 + high}H${left + wide}`}></path>
          ${
            full === null
              ? svg`<text x=${left - 6} y=${y(most) + 4} text-anchor="end">${c.figure(most)}</text>`
              : svg`<path class="axis is-full" d=${`M${left} ${y(full)}H${left + wide}`}></path>
              <text x=${left - 6} y=${y(full) + 4} text-anchor="end">${c.figure(full)}</text>`
          }
          ${DAYS.map(
            (d, i) => svg`<path class="axis" d=${`M${left + i * HOURS * bar} ${8 + high}v6`}></path>
            <text x=${left + (i * HOURS + HOURS / 2) * bar} y=${high + 26} text-anchor="middle">${d}</text>`,
          )}
          ${c.busy < 0 ? nothing : busyName(c, left + (c.busy + 0.5) * bar, y(c.all[c.busy] ?? top), left + wide)}
        </svg>
      </div>
      <p class="quiet">${c.key}</p>
      <details>
        <summary>in figures</summary>
        ${figures(c)}
      </details>
    </figure>`;
  }
}

/* The busiest hour's name at its bar, within the picture. */
function busyName(c: Chart, x: number, y: number, right: number): TemplateResult {
  const anchor = x > right - 90 ? 'end' : 'start';
  return svg`<text class="busy-hour" x=${anchor === 'end' ? x - 6 : x + 6} y=${Math.max(y + 4, 14)} text-anchor=${anchor}>${clock(c.busy)}</text>`;
}

/* Days as columns, hours as rows. */
function figures(c: Chart): TemplateResult {
  return html`<div class="table-place" tabindex="0" role="region" aria-label=${`${c.id}: figures of each hour`}>
    <table>
      <thead>
        <tr>
          <td></td>
          ${DAYS.map((d) => html`<th scope="col" class="figure">${d}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${Array.from(
          { length: HOURS },
          (_, h) =>
            html`<tr>
              <th scope="row">${clock(h)}</th>
              ${DAYS.map((_d, d) => {
                const v = c.all[d * HOURS + h];
                return html`<td class="figure">
                  ${d * HOURS + h === c.busy ? html`<b>${v === null ? 'more' : c.figure(v)}</b>` : v === null ? 'more' : c.figure(v)}
                </td>`;
              })}
            </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}

function wayOf(name: 'down' | 'up', w: Way): Chart {
  const needed = w.hours[w.fullest_hour].needed_mbps;
  const mbps = (v: number): string => number(v, v < 10 ? 1 : 0);
  return {
    id: name,
    head: html`<b>${name}</b>:
      ${w.capacity_mbps === null ? '' : `the line carries ${number(w.capacity_mbps, 0)} Mb/s; `}most is asked
      ${hourName(w.fullest_hour)}${needed === null ? '' : `, ${number(needed)} Mb/s`}`,
    key: 'behind: what suffices; in front: the mean. Mb/s.',
    all: w.hours.map((h) => h.needed_mbps),
    part: w.hours.map((h) => h.mean_mbps),
    busy: w.fullest_hour,
    full: w.capacity_mbps,
    figure: mbps,
  };
}

function airOf(r: Radio): Chart {
  const house = r.own.map((v, i) => v + r.beacons[i] + r.own_radios[i]);
  const all = house.map((v, i) => v + r.neighbours[i] + r.mesh[i]);
  const busy = busiest(all);
  const isFlat = all.every((v) => Math.abs(v - all[busy]) < 0.0002); /* as told, to the fourth decimal */
  const parts: [string, number][] = [
    ['its own devices', r.own[busy]],
    ['beacons', r.beacons[busy]],
    ['other radios of the house', r.own_radios[busy]],
    ['neighbours', r.neighbours[busy]],
    ['the low-power mesh', r.mesh[busy]],
  ];
  return {
    id: `${r.equipment}, ${r.band} GHz`,
    head: html`<b>${words(r.equipment)}, ${number(Number(r.band))} GHz</b>: its channel is
      ${isFlat ? 'busy in every hour alike' : `busiest ${hourName(busy)}`}, ${percent(all[busy])} of the time
      <span class="quiet"
        >(${parts
          .filter(([, v]) => v >= 0.0005)
          .map(([name, v]) => `${name} ${percent(v)}`)
          .join(', ')})</span
      >`,
    key: 'behind: all that is heard on its channel; in front: what the house sends itself. Share of the time.',
    all,
    part: house,
    busy: isFlat ? -1 : busy,
    full: 1,
    figure: percent,
  };
}
