import { html, nothing, svg, type TemplateResult } from 'lit';
import type { Problem } from '../api/client';
import type { State } from '../api/types';
import { settings, type Theme } from '../state/settings';
import type { LengthUnit } from '../units';

/* Small parts that several views show. */

const SHAPES: Record<State, TemplateResult> = {
  kept: svg`<circle cx="8" cy="8" r="4.6" class="mark-kept"></circle>`,
  broken: svg`<path d="M3.6 3.6 12.4 12.4M12.4 3.6 3.6 12.4" class="mark-broken"></path>`,
  unknown: svg`<circle cx="8" cy="8" r="5" class="mark-unknown"></circle>`,
};

/* Dot, cross, dashed ring: kept, broken, unknown. */
export const mark = (state: State): TemplateResult =>
  html`<svg class="mark" viewBox="0 0 16 16" role="img" aria-label=${state}>${SHAPES[state]}</svg>`;

export function problemList(problems: readonly Problem[], here = true): TemplateResult | typeof nothing {
  if (!problems.length) return nothing;
  return html`<ul class="problems">
    ${problems.map(
      (p) =>
        html`<li class=${p.is_warning ? 'is-warning' : 'is-wrong'}>
          <strong>${p.is_warning ? 'take care: ' : ''}${p.says}</strong>
          ${p.hint ? html`<span>${p.hint}</span>` : nothing}
          ${here && p.line ? html`<span class="quiet">line ${p.line}</span>` : nothing}
        </li>`,
    )}
  </ul>`;
}

/* Choices are words; the chosen one is underlined. */
export function choices<T extends string>(
  name: string,
  all: readonly { value: T; word: string; title?: string }[],
  now: T,
  choose: (value: T) => void,
): TemplateResult {
  return html`<div class="choices" role="group" aria-label=${name}>
    ${all.map(
      (c) =>
        html`<button
          type="button"
          class="word"
          aria-pressed=${c.value === now ? 'true' : 'false'}
          @click=${() => choose(c.value)}
        >
          ${c.word}
        </button>`,
    )}
  </div>`;
}

/* How this browser shows things. */
export function preferences(): TemplateResult {
  const themes: { value: Theme; word: string }[] = [
    { value: 'system', word: 'as the system' },
    { value: 'light', word: 'light' },
    { value: 'dark', word: 'dark' },
  ];
  const units: { value: LengthUnit; word: string }[] = [
    { value: 'm', word: 'metres' },
    { value: 'ft', word: 'feet' },
  ];
  return html`<div class="preferences">
    ${choices('colours', themes, settings.theme, (theme) => settings.set({ theme }))}
    ${choices('lengths', units, settings.unit, (unit) => settings.set({ unit }))}
  </div>`;
}
