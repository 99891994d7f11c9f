import { html, type TemplateResult } from 'lit';
import type { Dict } from '../api/types';
import { asList, asText } from '../state/pointer';

/* Hours of the week as a grid: days down, hours across.  A stretch that passes midnight belongs to the day on which it begins. */

export const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];
const NAMES: Record<string, string> = {
  mon: 'Monday',
  tue: 'Tuesday',
  wed: 'Wednesday',
  thu: 'Thursday',
  fri: 'Friday',
  sat: 'Saturday',
  sun: 'Sunday',
};

const minutes = (text: string): number => {
  const m = /^(\d{1,2}):(\d{2})$/.exec(text);
  return m ? Number(m[1]) * 60 + Number(m[2]) : 0;
};

/* How much of each of the 168 hours is covered. */
export function coverage(h: Dict): number[] {
  const out = new Array<number>(168).fill(0);
  const from = minutes(asText(h.from)),
    to = minutes(asText(h.to));
  const long = to > from ? to - from : to + 1440 - from;
  const days = h.days === undefined ? DAYS : asList(h.days).map(asText);
  for (const d of days) {
    const start = DAYS.indexOf(d) * 1440 + from;
    for (let m = start; m < start + long; m += 15) out[Math.floor((m % 10080) / 60)] += 0.25;
  }
  return out.map((x) => Math.min(x, 1));
}

export function hoursGrid(h: Dict, toggleDay?: (day: string) => void): TemplateResult {
  const covered = coverage(h);
  const days = h.days === undefined ? DAYS : asList(h.days).map(asText);
  return html`<table class="week-grid">
    <caption class="unseen">
      The hours of the week that are covered
    </caption>
    <thead>
      <tr>
        <th scope="col">day</th>
        ${Array.from({ length: 8 }, (_, i) => html`<th scope="col" colspan="3">${i * 3}</th>`)}
      </tr>
    </thead>
    <tbody>
      ${DAYS.map(
        (d, i) =>
          html`<tr>
            <th scope="row">
              ${
                toggleDay
                  ? html`<label class="tick"
                      ><input
                        type="checkbox"
                        .checked=${days.includes(d)}
                        @change=${() => toggleDay(d)}
                      />${NAMES[d].slice(0, 3)}</label
                    >`
                  : NAMES[d].slice(0, 3)
              }
            </th>
            ${Array.from({ length: 24 }, (_, k) => {
              const share = covered[i * 24 + k];
              return html`<td class=${share >= 1 ? 'is-on' : share > 0 ? 'is-part' : ''}>
                <span class="unseen">${share >= 1 ? 'yes' : share > 0 ? 'partly' : 'no'}</span>
              </td>`;
            })}
          </tr>`,
      )}
    </tbody>
  </table>`;
}
