import { html, nothing, type TemplateResult } from 'lit';
import type { House } from '../state/house';
import { deviceKinds } from '../state/words';
import { number, words } from '../units';
import { choices } from './parts';

/* How the field is to be judged: one sentence, and its words to choose behind it. */

const SHARES = ['0.5', '0.9', '0.95', '0.99'];
const USUAL_SHARE = '0.9';
const USUAL_DEVICE = 'phone';

const percent = (share: string): string => `${number(Number(share) * 100)} %`;

const accessPoints = (house: House): string[] =>
  (house.drawing?.equipment ?? []).filter((e) => e.radios.length).map((e) => e.id);

export const fieldSentence = (house: House): string => {
  const { availability, estimate, device, only, failure } = house.look;
  const said = house.failure?.says ?? words(failure);
  return [
    `heard by a ${words(device || USUAL_DEVICE)} in ${percent(availability || USUAL_SHARE)} of places`,
    `${estimate || (house.data.estimate as string | undefined) || 'careful'} estimate`,
    only ? `${words(only)} alone` : '',
    failure ? `after ${said} failed` : '',
  ]
    .filter(Boolean)
    .join(', ');
};

export function fieldChoices(house: House): TemplateResult | typeof nothing {
  const { quantity, availability, estimate, device, only, failure } = house.look;
  if (quantity === 'none' || !house.hasField) return nothing;
  const owners = accessPoints(house);
  const usual = (house.data.estimate as string | undefined) || 'careful';
  return html`<details class="field-choices">
    <summary>${fieldSentence(house)}</summary>
    <div class="field-words">
      <span class="quiet">in so many places</span>
      ${choices(
        'In how many places it holds',
        SHARES.map((value) => ({ value, word: percent(value) })),
        availability || USUAL_SHARE,
        (value) => house.set({ availability: value === USUAL_SHARE ? '' : value }),
      )}
      <span class="quiet">loss of walls</span>
      ${choices(
        'Estimate of what walls take',
        ['careful', 'middle', 'hopeful'].map((value) => ({ value, word: value })),
        estimate || usual,
        (value) => house.set({ estimate: value === usual ? '' : value }),
      )}
      <label
        ><span class="quiet">heard by</span>
        <select @change=${(e: Event) => house.set({ device: (e.target as HTMLSelectElement).value })}>
          ${deviceKinds(true).map((k) => {
            const value = k === USUAL_DEVICE ? '' : k;
            return html`<option value=${value} .selected=${value === device}>a ${words(k)}</option>`;
          })}
        </select></label
      >
      ${
        owners.length > 1
          ? html`<label
              ><span class="quiet">from</span>
              <select @change=${(e: Event) => house.set({ only: (e.target as HTMLSelectElement).value })}>
                <option value="" .selected=${!only}>all access points</option>
                ${owners.map((id) => html`<option value=${id} .selected=${id === only}>${words(id)} alone</option>`)}
              </select></label
            >`
          : nothing
      }
      ${
        failure
          ? html`<button type="button" class="word" @click=${() => house.set({ failure: '' })}>
              nothing has failed
            </button>`
          : nothing
      }
    </div>
  </details>`;
}
