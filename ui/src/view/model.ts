import { html, nothing, type TemplateResult } from 'lit';
import type { House } from '../state/house';
import { Fetched } from './fetched';
import { choices } from './parts';

/* The way to the 3-D view: what draws it is large. */
const drawer = new Fetched(
  () => import('../three/view'),
  'The 3-D view could not be fetched from the program. The plan tells the same.',
);

export const model = (house: House, again: () => void): TemplateResult =>
  drawer.show(html`<rt-model .house=${house}></rt-model>`, again);

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
