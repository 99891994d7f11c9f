import { html, type TemplateResult } from 'lit';
import type { Json } from '../api/types';
import { at } from '../state/pointer';
import { merge } from '../state/merge';
import { label } from '../units';

/* What somebody else wrote while a form was open, beside what stands in the form: nothing is lost without a word. */

const shown = (v: Json | undefined): string =>
  v === undefined ? 'not said' : v === null || typeof v !== 'object' ? String(v) : JSON.stringify(v);

const named = (path: string): string =>
  path
    .split('/')
    .slice(1)
    .map((k) => label(k).name)
    .join(', ') || 'all of it';

const within = (root: Json | undefined, path: string): Json | undefined =>
  path ? (root === undefined ? undefined : at(root, path)) : root;

export function meanwhile(
  was: Json | undefined,
  mine: Json,
  theirs: Json | undefined,
  keep: () => void,
  take: () => void,
): TemplateResult {
  const found = merge(was, mine, theirs).both;
  const both = found.length ? found : [''];
  const head = theirs === undefined ? 'This was removed elsewhere meanwhile.' : 'This was changed elsewhere meanwhile.';
  return html`<div class="warning meanwhile" role="alert">
    <p><strong>${head}</strong> Nothing of yours was written yet.</p>
    ${
      theirs === undefined
        ? html`<p>Write yours, and it is there again; or take theirs, and it is gone.</p>`
        : html`<div class="table-place" tabindex="0" role="region" aria-label="yours beside theirs">
            <table>
              <thead>
                <tr>
                  <th scope="col">what both changed</th>
                  <th scope="col">it was</th>
                  <th scope="col">yours</th>
                  <th scope="col">theirs</th>
                </tr>
              </thead>
              <tbody>
                ${both.map(
                  (path) =>
                    html`<tr>
                      <th scope="row">${named(path)}</th>
                      <td>${shown(within(was, path))}</td>
                      <td>${shown(within(mine, path))}</td>
                      <td>${shown(within(theirs, path))}</td>
                    </tr>`,
                )}
              </tbody>
            </table>
          </div>`
    }
    <div class="form-foot">
      <button type="button" @click=${keep}>write mine over it</button>
      <button type="button" @click=${take}>take theirs</button>
    </div>
  </div>`;
}
