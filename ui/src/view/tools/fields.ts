import { html, type TemplateResult } from 'lit';
import type { Construct } from '../../api/types';
import { settings } from '../../state/settings';
import { length, number, readLength, typedLength, words } from '../../units';

/* Small fields in a tool's head. */

export function choice(
  name: string,
  now: string,
  all: readonly { value: string; word: string }[],
  set: (v: string) => void,
): TemplateResult {
  return html`<label class="tool-field"
    >${name}
    <select @change=${(e: Event) => set((e.target as HTMLSelectElement).value)}>
      ${all.map((x) => html`<option value=${x.value} .selected=${x.value === now}>${x.word}</option>`)}
    </select></label
  >`;
}

export const asChoices = (all: readonly string[]): { value: string; word: string }[] =>
  all.map((value) => ({ value, word: words(value) }));

const thickness = (metres: number): string =>
  settings.unit === 'm' ? `${number(metres * 100, 1)} cm` : length(metres, 'ft');

/* What something is made of, with how thick that is. */
export function made(
  name: string,
  now: string,
  constructs: readonly Construct[],
  wanted: RegExp,
  set: (v: string) => void,
): TemplateResult {
  const fits = constructs.filter((c) => !c.is_built_in || wanted.test(c.id) || c.id === now);
  const all = fits.length ? fits : [{ id: now, says: '', thickness_m: 0, is_built_in: true }];
  return choice(
    name,
    now,
    all.map((c) => ({
      value: c.id,
      word: `${words(c.id)}${c.thickness_m ? `, ${thickness(c.thickness_m)}` : ''}`,
    })),
    set,
  );
}

/* A length in metres or feet, as the page is set. */
export function measure(name: string, metres: number, set: (metres: number) => void): TemplateResult {
  return html`<label class="tool-field"
    >${name}
    <input
      type="text"
      inputmode=${settings.unit === 'm' ? 'decimal' : 'text'}
      size="5"
      .value=${typedLength(metres, settings.unit)}
      @change=${(e: Event) => {
        const v = readLength((e.target as HTMLInputElement).value, settings.unit, [metres]);
        if (v !== null) set(v);
      }}
    />
    ${settings.unit}</label
  >`;
}

export function word(name: string, value: string, set: (v: string) => void, first = false): TemplateResult {
  return html`<label class="tool-field"
    >${name}
    <input
      type="text"
      size="14"
      maxlength="80"
      autocomplete="off"
      ?data-first=${first}
      .value=${value}
      @input=${(e: Event) => set((e.target as HTMLInputElement).value)}
  /></label>`;
}

export const WALLS = /brick|block|concrete_150|stud|lath|stone|cob|timber_cladding|glass|steel/;
export const DOORS = /door|glass/;
export const WINDOWS = /glass/;
export const ROOFS = /roof|concrete|timber|steel|glass|plasterboard/;
export const SOLIDS = /metal|tank|furniture|chimney|mirror|steel|brick|earth/;
