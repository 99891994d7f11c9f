import { html, nothing, type TemplateResult } from 'lit';
import type { Dict, Json, PromiseResult } from '../api/types';
import type { House } from '../state/house';
import { asText } from '../state/pointer';
import { settings } from '../state/settings';
import { label, length, number, words } from '../units';

/* Why a promise is kept or broken: the engine's sentence, then its facts as tables. */

const isScalar = (v: Json): boolean => v === null || typeof v !== 'object';

function figure(v: Json): string {
  if (v === null || v === '') return '·';
  if (typeof v === 'number') return number(v, Math.abs(v) < 10 ? 2 : 1);
  if (typeof v === 'boolean') return v ? 'yes' : 'no';
  return String(v);
}

/* Shares are told in per cent: that is how people say them. */
function cell(key: string, v: Json): string {
  if (typeof v === 'number' && /(^|_)share(_|$)|probability|availability/.test(key)) return `${number(v * 100, 1)} %`;
  return typeof v === 'number' && isFeet(key) ? length(v, 'ft') : figure(v);
}

/* Feet and inches carry their marks with them; all else has its unit beside it. */
const isFeet = (key: string): boolean => settings.unit === 'ft' && label(key).unit === 'm';
const unitOf = (key: string): string => (isFeet(key) ? '' : label(key).unit);

const ID_KEYS = new Set(['id', 'room', 'access_point', 'cable', 'device', 'construct', 'floor', 'promise']);
const cellWords = (key: string, v: Json): string =>
  typeof v === 'string' && ID_KEYS.has(key)
    ? words(v)
    : Array.isArray(v)
      ? v.map((x) => (isScalar(x) ? words(cell(key, x)) : '…')).join(', ')
      : cell(key, v);

function table(head: string, rows: Dict[]): TemplateResult {
  const keys = [...new Set(rows.flatMap((r) => Object.keys(r)))].filter((k) =>
    rows.some((r) => {
      const v = r[k];
      return (
        v !== undefined &&
        v !== null &&
        v !== '' &&
        (isScalar(v) || (Array.isArray(v) && v.length > 0 && v.every(isScalar)))
      );
    }),
  );
  const most = 40;
  return html`<div class="table-place" tabindex="0" role="region" aria-label=${words(head)}>
    <table>
      <caption>
        ${words(head)}
      </caption>
      <thead>
        <tr>
          ${keys.map((k) => {
            const unit = unitOf(k);
            return html`<th scope="col">${label(k).name}${unit ? html`, ${unit}` : nothing}</th>`;
          })}
        </tr>
      </thead>
      <tbody>
        ${rows.slice(0, most).map(
          (r) =>
            html`<tr>
              ${keys.map((k) => {
                const v = r[k] ?? null;
                return html`<td class=${typeof v === 'number' ? 'figure' : ''}>${cellWords(k, v)}</td>`;
              })}
            </tr>`,
        )}
      </tbody>
    </table>
    ${rows.length > most ? html`<p class="quiet">and ${rows.length - most} more</p>` : nothing}
  </div>`;
}

const SKIPPED = new Set(['worst_spot', 'paths', 'estimate', 'mean_mbps', 'needed_mbps']);

function nested(key: string, v: Json): TemplateResult | typeof nothing {
  if (Array.isArray(v)) {
    if (!v.length) return nothing;
    if (v.every((x) => x !== null && typeof x === 'object' && !Array.isArray(x))) return table(key, v as Dict[]);
    if (v.length > 60) return nothing;
    return html`<p class="fact-list">
      <span class="quiet">${label(key).name}:</span> ${v.map((x) => cell(key, x)).join(', ')}
    </p>`;
  }
  if (v && typeof v === 'object') {
    const flat = Object.entries(v).filter(([, x]) => isScalar(x));
    const deep = Object.entries(v).filter(([, x]) => !isScalar(x));
    return html`${flat.length ? facts(Object.fromEntries(flat), key) : nothing}${deep.map(([k, x]) => (SKIPPED.has(k) ? nothing : nested(k, x)))}`;
  }
  return nothing;
}

function facts(d: Dict, head = ''): TemplateResult {
  return html`${head ? html`<h4>${words(head)}</h4>` : nothing}
    <dl class="facts">
      ${Object.entries(d).map(([k, v]) => {
        const unit = unitOf(k);
        return html`<div>
          <dt>${label(k).name}</dt>
          <dd>
            ${typeof v === 'string' && ID_KEYS.has(k) ? words(v) : cell(k, v)}${unit && typeof v === 'number' ? ` ${unit}` : ''}
          </dd>
        </div>`;
      })}
    </dl>`;
}

interface EvidencePath {
  kind: string;
  length_m: number;
  gain_db: number;
  crossings: { id: string; loss_db: number; reflection: boolean }[];
}

function paths(list: EvidencePath[]): TemplateResult {
  return html`<h4>paths to that spot</h4>
    <ol class="paths">
      ${list
        .slice(0, 4)
        .map(
          (p) =>
            html`<li>
              ${p.kind}, ${length(p.length_m, settings.unit, 1)}, ${number(p.gain_db)}
              dB${
                p.crossings.length
                  ? html`:
                    ${p.crossings.map((c, i) => `${i ? ', ' : ''}${words(c.id)} ${c.reflection ? '(reflected) ' : ''}−${number(c.loss_db)}`)}`
                  : nothing
              }
            </li>`,
        )}
    </ol>`;
}

export function evidence(house: House, p: PromiseResult): TemplateResult {
  const scalars = Object.entries(p.evidence).filter(([k, v]) => isScalar(v) && !SKIPPED.has(k));
  const deep = Object.entries(p.evidence).filter(([k, v]) => !isScalar(v) && !SKIPPED.has(k));
  const spot = p.evidence.worst_spot as { floor: string; where: string } | undefined;
  const list = p.evidence.paths;
  return html`<div class="evidence">
    <p class="reason">${p.reason || 'Nothing comes near to breaking it.'}</p>
    <p class="ways">
      ${
        spot
          ? html`<button type="button" class="word" @click=${() => house.set({ view: 'plan', floor: spot.floor })}>
              on the plan: ${spot.where}
            </button>`
          : nothing
      }
      <button type="button" class="word" @click=${() => house.set({ side: 'change', section: 'promises', item: p.id })}>
        change the promise
      </button>
    </p>
    <details>
      <summary>facts</summary>
      ${scalars.length ? facts(Object.fromEntries(scalars)) : nothing}
      ${Array.isArray(list) && list.length ? paths(list as unknown as EvidencePath[]) : nothing}
      ${deep.map(([k, v]) => nested(k, v))}
      <p class="quiet">promise ${asText(p.id)}, kind ${p.kind}</p>
    </details>
  </div>`;
}
