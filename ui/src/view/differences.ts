import { html, nothing, type TemplateResult } from 'lit';
import { settings } from '../state/settings';
import { length } from '../units';

/* What two house files say differently, as the engine found it: by section, by thing, by member. */

export interface Difference {
  section: string;
  id: string;
  says: string;
  change: 'only_first' | 'only_second' | 'changed';
  members: { member: string; says: string; unit: string; sides: [string | null, string | null] }[];
}

type Member = Difference['members'][number];

/* What the two are called over their columns, and where something is that only one has. */
export interface Sides {
  names: [string, string];
  only: [string, string];
}

const value = (m: Member, side: 0 | 1): TemplateResult | string => {
  const text = m.sides[side];
  if (text === null) return html`<span class="quiet">left out</span>`;
  if (m.unit === 'metres' && text !== '' && Number.isFinite(Number(text)))
    return length(Number(text), settings.unit, 3);
  return m.unit ? `${text} ${m.unit}` : text;
};

const thing = (d: Difference): TemplateResult | typeof nothing =>
  d.id || d.says
    ? html`<b>${d.id || d.says}</b
        >${d.id && d.says && d.says !== d.id ? html` <span class="quiet">${d.says}</span>` : nothing}`
    : nothing;

/* All that stands there of what only one has; folded, for it may be much. */
function alone(d: Difference, side: 0 | 1): TemplateResult {
  return html`<details>
    <summary>all that stands there</summary>
    <dl>
      ${d.members.map(
        (m) =>
          html`<div>
            <dt>${m.says}</dt>
            <dd>${value(m, side)}</dd>
          </div>`,
      )}
    </dl>
  </details>`;
}

function one(d: Difference, sides: Sides): TemplateResult {
  if (d.change !== 'changed') {
    const side = d.change === 'only_first' ? 0 : 1;
    return html`<tbody>
      <tr class="thing">
        <th colspan="3" scope="rowgroup">${thing(d)} <span class="only">${sides.only[side]}</span></th>
      </tr>
      ${
        d.members.length
          ? html`<tr>
              <td colspan="3">${alone(d, side)}</td>
            </tr>`
          : nothing
      }
    </tbody>`;
  }
  return html`<tbody>
    ${
      d.id || d.says
        ? html`<tr class="thing">
            <th colspan="3" scope="rowgroup">${thing(d)}</th>
          </tr>`
        : nothing
    }
    ${d.members.map(
      (m) =>
        html`<tr>
          <th scope="row">${m.says}</th>
          <td>${value(m, 0)}</td>
          <td>${value(m, 1)}</td>
        </tr>`,
    )}
  </tbody>`;
}

const head = (sides: Sides): TemplateResult =>
  html`<thead>
    <tr>
      <td></td>
      <th scope="col">${sides.names[0]}</th>
      <th scope="col">${sides.names[1]}</th>
    </tr>
  </thead>`;

function inSection(section: string, of: Difference[], sides: Sides): TemplateResult {
  return html`<section class="apart table-place" tabindex="0" aria-label=${section}>
    <table>
      <caption>
        ${section}
      </caption>
      ${of.some((d) => d.change === 'changed') ? head(sides) : nothing} ${of.map((d) => one(d, sides))}
    </table>
  </section>`;
}

export function differences(list: Difference[], sides: Sides): TemplateResult {
  const sections = [...new Set(list.map((d) => d.section))];
  if (!list.length) return html`<p>Both files say the same, whatever their order and comments.</p>`;
  return html`${sections.map((section) =>
    inSection(
      section,
      list.filter((d) => d.section === section),
      sides,
    ),
  )}`;
}
