import { html, nothing, type TemplateResult } from 'lit';
import { conflicts, type Choice, type Chunk } from '../state/lines';

/* Lines that two changed, side by side, to be chosen from; and what was joined without asking. */

/* The same chunks, with nothing left to choose. */
export function complete(chunks: Chunk[], chosen: readonly Choice[]): Chunk[] {
  let n = 0;
  return chunks.map((c): Chunk => {
    if (c.kind !== 'conflict') return c;
    const choice = chosen[n++];
    if (choice === 'each') return { ...c, kind: 'mine', mine: [...c.mine, ...c.theirs] };
    return { ...c, kind: choice };
  });
}

const CHOICES: { value: Choice; word: string }[] = [
  { value: 'mine', word: 'yours' },
  { value: 'theirs', word: 'theirs' },
  { value: 'each', word: 'both, yours first' },
];

const lines = (n: number): string => (n === 1 ? 'line' : 'lines');

const text = (head: string, of: string[]): TemplateResult =>
  html`<div>
    <h4>${head}</h4>
    ${of.length ? html`<pre tabindex="0" aria-label=${head}>${of.join('\n')}</pre>` : html`<p class="quiet">taken away</p>`}
  </div>`;

function one(
  c: Chunk,
  line: number,
  nth: number,
  choice: Choice | '',
  choose: (nth: number, choice: Choice) => void,
): TemplateResult {
  const where = c.mine.length > 1 ? `lines ${line} to ${line + c.mine.length - 1}` : `line ${line}`;
  return html`<fieldset>
    <legend>${where} of yours</legend>
    <div class="two-texts">${text('yours', c.mine)} ${text('theirs', c.theirs)}</div>
    ${
      c.base.length
        ? html`<details>
            <summary>it was</summary>
            <pre tabindex="0" aria-label="it was">${c.base.join('\n')}</pre>
          </details>`
        : nothing
    }
    <div class="picks">
      ${CHOICES.map(
        ({ value, word }) =>
          html`<label
            ><input
              type="radio"
              name=${`join-${nth}`}
              .checked=${choice === value}
              @change=${() => choose(nth, value)}
            />${word}</label
          >`,
      )}
    </div>
  </fieldset>`;
}

/* `put` is null until everything is chosen. */
export function both(
  chunks: Chunk[],
  choices: readonly (Choice | '')[],
  choose: (nth: number, choice: Choice) => void,
  deeds: { put: (() => void) | null; take: () => void },
): TemplateResult {
  const n = conflicts(chunks).length;
  const more = chunks.filter((c) => c.kind === 'theirs').length;
  let [line, nth] = [1, 0];
  return html`<div class="warning joining" role="region" tabindex="0" aria-label="changed by both">
    <p role="alert">
      <strong
        >The file was changed elsewhere meanwhile, ${n === 1 ? 'in one place' : `in ${n} places`} that you changed
        too.</strong
      >
      ${more ? html`The rest of it is joined with yours.` : nothing} Choose what shall stand; nothing is written yet.
    </p>
    ${chunks.map((c) => {
      const at = line;
      line += c.mine.length;
      return c.kind === 'conflict' ? one(c, at, nth, choices[nth++], choose) : nothing;
    })}
    <div class="foot">
      <button type="button" class="main" ?disabled=${!deeds.put} @click=${() => deeds.put?.()}>put together</button>
      <button type="button" @click=${deeds.take}>take what is there</button>
    </div>
  </div>`;
}

export function tookOver(
  took: { line: number; n: number }[],
  go: (at: { line: number; n: number }) => void,
): TemplateResult {
  return html`<div class="took" role="status">
    <span>Changed elsewhere meanwhile, and joined with yours; look at it before you write it:</span>
    ${took.map(
      (t) =>
        html`<button type="button" class="word" @click=${() => go(t)}>
          ${t.n ? `${lines(t.n)} ${t.line}${t.n > 1 ? ` to ${t.line + t.n - 1}` : ''}` : `gone before line ${t.line}`}
        </button>`,
    )}
  </div>`;
}
