import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../api/client';
import type { Dict, Json } from '../api/types';
import type { House } from '../state/house';
import { asList, asText } from '../state/pointer';
import { endOf, endsOf, type End } from '../state/ends';
import { services } from '../state/words';
import { words } from '../units';

/* A statement is a sentence with choices: who may (or may never) start talk with whom, for what, when. */

export function statementSentence(house: Dict, s: Dict): string {
  const ends = endsOf(house);
  const who = (v: Json | undefined): string =>
    asList(v)
      .map((x) => endOf(ends, asText(x)).name)
      .join(', ') || '…';
  const may = s.verdict === 'refuse' ? 'may never start talk with' : 'may start talk with';
  const what = s.services === undefined ? 'for anything' : `for ${asList(s.services).map(asText).join(', ')}`;
  return `${who(s.from)} ${may} ${who(s.to)} ${what}${s.hours ? ` during ${words(asText(s.hours))}` : ''}`;
}

/* Ends to choose from, by what they are; what every house has stands first. */
export function endOptions(ends: readonly End[], now = ''): TemplateResult {
  const option = (e: End): TemplateResult =>
    html`<option value=${e.value} .selected=${e.value === now}>${e.name}</option>`;
  const kinds = [...new Set(ends.map((e) => e.kind))];
  return html`${kinds.map((kind) => {
    const all = ends.filter((e) => e.kind === kind).map(option);
    return kind ? html`<optgroup label=${PLURAL[kind]}>${all}</optgroup>` : all;
  })}`;
}

const PLURAL: Record<string, string> = { segment: 'segments', group: 'groups', person: 'people', device: 'devices' };

/* The chosen ones as words that can be taken out, and one more to choose. */
export function picker(
  name: string,
  chosen: string[],
  ends: readonly End[],
  set: (next: string[]) => void,
  nothing_word: string,
): TemplateResult {
  const taken = chosen.map((c) => endOf(ends, c));
  const rest = ends.filter((e) => !taken.includes(e));
  const take = (el: HTMLSelectElement): void => {
    if (el.value) set([...chosen, el.value]);
    el.value = '';
  };
  return html`<span class="picker" role="group" aria-label=${name}>
    ${
      chosen.length
        ? taken.map(
            (e, i) =>
              html`<button
                type="button"
                class="chip"
                aria-label=${`take out ${e.name}`}
                @click=${() => set(chosen.filter((_, k) => k !== i))}
              >
                ${e.name} <span aria-hidden="true">×</span>
              </button>`,
          )
        : html`<span class="quiet">${nothing_word}</span>`
    }
    <select
      aria-label=${`${name}: one more`}
      @pointerdown=${(e: Event) => delete (e.target as HTMLSelectElement).dataset.keys}
      @keydown=${(e: KeyboardEvent) => {
        const el = e.target as HTMLSelectElement;
        el.dataset.keys = 'yes';
        if (e.key !== 'Enter' || !el.value) return;
        e.preventDefault();
        take(el);
      }}
      @change=${(e: Event) => {
        /* arrow keys pass over one choice after the other: taken is the one that stands there when one goes on */
        const el = e.target as HTMLSelectElement;
        if (!el.dataset.keys) take(el);
      }}
      @blur=${(e: Event) => take(e.target as HTMLSelectElement)}
    >
      <option value="">${chosen.length ? 'and …' : 'choose …'}</option>
      ${endOptions(rest)}
    </select>
  </span>`;
}

export function servicesOf(house: House): string[] {
  const used = house.list('statements').flatMap((s) => asList((s as Dict).services).map(asText));
  return [...new Set([...Object.keys(house.section('services')), ...services(), ...used])];
}

export function statementForm(
  house: House,
  s: Dict,
  change: (v: Dict) => void,
  problems: readonly { key: string; problem: Problem }[] = [],
): TemplateResult {
  const wrong = (...keys: string[]): TemplateResult[] =>
    problems
      .filter((p) => keys.includes(p.key.split('-')[0]))
      .map(
        ({ problem: p }) =>
          html`<span class="field-wrong"><strong>${p.says}</strong>${p.hint ? ` · ${p.hint}` : nothing}</span>`,
      );
  const set = (key: string, v: Json | undefined): void => {
    const next = { ...s };
    if (v === undefined) delete next[key];
    else next[key] = v;
    change(next);
  };
  const list = (key: string) => asList(s[key]).map(asText);
  const keep = (key: string, v: string[]): void => set(key, v.length > 1 ? v : v.length ? v[0] : undefined);
  const ends = endsOf(house.data);
  const offered = servicesOf(house).map((value): End => ({ value, name: words(value), kind: '' }));
  return html`<div class="sentence">
      ${picker('who starts', list('from'), ends, (v) => keep('from', v), 'nobody yet')}
      <select aria-label="may they" @change=${(e: Event) => set('verdict', (e.target as HTMLSelectElement).value)}>
        <option value="allow" .selected=${s.verdict !== 'refuse'}>may</option>
        <option value="refuse" .selected=${s.verdict === 'refuse'}>may never</option>
      </select>
      start talk with ${picker('with whom', list('to'), ends, (v) => keep('to', v), 'nobody yet')} for
      ${picker('for what', list('services'), offered, (v) => set('services', v.length ? v : undefined), 'anything')}
      <select
        aria-label="when"
        @change=${(e: Event) => set('hours', (e.target as HTMLSelectElement).value || undefined)}
      >
        <option value="" .selected=${!s.hours}>always</option>
        ${Object.keys(house.section('hours')).map((h) => html`<option value=${h} .selected=${s.hours === h}>during ${words(h)}</option>`)}
      </select>
      ${wrong('from', 'to', 'services', 'verdict', 'hours')}
    </div>
    <div class="field">
      <label for="statement-says">why, in a sentence</label>
      <input
        id="statement-says"
        type="text"
        .value=${asText(s.says)}
        @change=${(e: Event) => set('says', (e.target as HTMLInputElement).value || undefined)}
      />
    </div>
    <div class=${wrong('id').length ? 'field is-wrong' : 'field'}>
      <label for="statement-id">short name</label>
      <input
        id="statement-id"
        type="text"
        .value=${asText(s.id)}
        aria-invalid=${wrong('id').length ? 'true' : 'false'}
        @change=${(e: Event) => set('id', (e.target as HTMLInputElement).value || undefined)}
      />
      ${wrong('id')}
    </div>
    <label class="tick"
      ><input
        type="checkbox"
        .checked=${s.log === true}
        @change=${(e: Event) => set('log', (e.target as HTMLInputElement).checked || undefined)}
      />each time is written down</label
    >`;
}
