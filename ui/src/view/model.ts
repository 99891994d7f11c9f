import { html, nothing, type TemplateResult } from 'lit';
import { until } from 'lit/directives/until.js';
import type { House } from '../state/house';
import { choices } from './parts';

/* The way to the 3-D view: what draws it is large, and is fetched when it is first looked at. */

let fetched: Promise<TemplateResult | null> | null = null;

function fetchOnce(): Promise<TemplateResult | null> {
  fetched ??= import('../three/view').then(
    () => null,
    () => {
      fetched = null; /* asked for again when it is looked at again */
      return html`<p class="in-sheet">The 3-D view could not be fetched from the program. The plan tells the same.</p>`;
    },
  );
  return fetched;
}

export const model = (house: House): TemplateResult =>
  html`<rt-model .house=${house}></rt-model>${until(fetchOnce(), html`<p class="quiet in-sheet">One moment.</p>`)}`;

export const hiddenFloors = (house: House): Set<string> => new Set(house.look.hidden.split(',').filter(Boolean));

/* Floors can be left out, and the storeys lifted apart. */
export function modelChoices(house: House): TemplateResult {
  const floors = house.drawing?.floors ?? [];
  const hidden = hiddenFloors(house);
  const toggle = (id: string): void => {
    if (!hidden.delete(id)) hidden.add(id);
    house.set({
      hidden: floors
        .map((f) => f.id)
        .filter((f) => hidden.has(f))
        .join(','),
    });
  };
  return html`${
    floors.length > 1
      ? html`<div class="choices" role="group" aria-label="Floors that are shown">
            ${floors.map(
              (f) =>
                html`<button
                  type="button"
                  class="word"
                  aria-pressed=${hidden.has(f.id) ? 'false' : 'true'}
                  @click=${() => toggle(f.id)}
                >
                  ${f.name}
                </button>`,
            )}
          </div>
          ${choices(
            'Storeys',
            [
              { value: '', word: 'as built' },
              { value: 'lifted', word: 'lifted' },
            ],
            house.look.lifted,
            (lifted: '' | 'lifted') => house.set({ lifted }),
          )}`
      : nothing
  }`;
}
