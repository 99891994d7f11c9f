import { html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { getJson, postJson, Refused, type Problem } from '../api/client';
import type { HouseEntry } from '../api/types';
import { nameOf } from '../state/build';
import { PICTURE_KINDS, sendPicture } from '../state/pictures';
import { settings } from '../state/settings';
import { readLength, typedLength } from '../units';
import { Plain } from './base';
import { preferences, problemList } from './parts';

interface PartsFile {
  path: string;
  currency: string;
}

interface Listed {
  houses: HouseEntry[];
  parts_files: PartsFile[];
  demos: { name: string; title: string }[];
  demo_parts: PartsFile[];
}

/* What a choice that mixes the folder's own and what comes with the program stands for. */
const DEMO = 'demo:';
const chosen = (value: string, own: string, demo: string): Record<string, string> =>
  value.startsWith(DEMO) ? { [demo]: value.slice(DEMO.length) } : value ? { [own]: value } : {};

/* Which house: those of the folder, a new one, or a copy of one that is there or of a demo. */

/* From what the browser knows of where it is; the user may write something else. */
function guess(): { country: string; time_zone: string; currency: string } {
  const region = new Intl.Locale(navigator.language).maximize().region ?? 'GB';
  const currencies: Record<string, string> = {
    GB: 'GBP',
    US: 'USD',
    CH: 'CHF',
    SE: 'SEK',
    NO: 'NOK',
    DK: 'DKK',
    PL: 'PLN',
  };
  return {
    country: region,
    time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone,
    currency: currencies[region] ?? 'EUR',
  };
}

const SIZE_M = { width: 10, depth: 8, height: 2.4 }; /* of a blank house, as its form begins */
const FIRST_FLOOR = 'ground'; /* the floor that a new house has (docs/api.md) */

@customElement('rt-start')
export class Start extends Plain {
  @property() trouble = '';
  @state() private houses: HouseEntry[] | null = null;
  @state() private partsFiles: PartsFile[] = [];
  @state() private demos: { name: string; title: string }[] = [];
  @state() private demoParts: PartsFile[] = [];
  @state() private problems: Problem[] = [];
  @state() private wrong: 'new' | 'copy' | 'list' | '' = '';
  @state() private hasPicture = false;
  private begun = ''; /* a house that was made, though not all went well */
  private readonly first = guess();
  private readonly follow = (): void => this.requestUpdate();

  connectedCallback(): void {
    super.connectedCallback();
    settings.addEventListener('change', this.follow);
    void this.list();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    settings.removeEventListener('change', this.follow);
  }

  private async list(): Promise<void> {
    try {
      const { body } = await getJson<Listed>('/api/houses');
      this.houses = body.houses;
      this.partsFiles = body.parts_files.filter((f) => f.currency);
      this.demos = body.demos;
      this.demoParts = body.demo_parts;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.wrong = 'list';
      this.problems = e.problems;
    }
  }

  private async make(
    body: Record<string, string | number>,
    form: 'new' | 'copy',
    picture: File | null = null,
  ): Promise<void> {
    const path = `/api/houses/${String(body.name)}`;
    const isBegun = this.begun === body.name; /* by this form, before its picture was refused */
    this.begun = '';
    try {
      if (!isBegun) await postJson('/api/houses', body);
      this.begun = String(body.name);
      if (picture) await sendPicture(path, picture, FIRST_FLOOR);
      location.hash = new URLSearchParams({
        house: String(body.name),
        ...(body.from || body.demo ? {} : { side: 'change', view: 'plan', tool: picture ? 'picture' : 'wall' }),
      }).toString();
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.wrong = form;
      this.problems = e.problems;
      if (this.begun) void this.list();
    }
  }

  private onNew = (e: SubmitEvent): void => {
    e.preventDefault();
    const form = new FormData(e.target as HTMLFormElement);
    const said = (key: string): string => String(form.get(key) ?? '').trim();
    const picture = form.get('picture');
    void this.make(
      {
        name: nameOf(said('title')) || 'house',
        title: said('title'),
        country: said('country').toUpperCase(),
        time_zone: said('time_zone'),
        currency: said('currency').toUpperCase(),
        width_m: this.metres(said('width')),
        depth_m: this.metres(said('depth')),
        height_m: this.metres(said('height')),
        ...chosen(said('parts_file'), 'parts_file', 'demo_parts'),
      },
      'new',
      picture instanceof File && picture.size > 0 ? picture : null,
    );
  };

  /* A length as typed; what is none, the server refuses. */
  private metres(text: string): number {
    return readLength(text, settings.unit, Object.values(SIZE_M)) ?? -1;
  }

  private size(name: keyof typeof SIZE_M, says: string): TemplateResult {
    return html`<label
      >${says}, ${settings.unit}
      <input
        name=${name}
        required
        inputmode=${settings.unit === 'm' ? 'decimal' : 'text'}
        autocomplete="off"
        .value=${typedLength(SIZE_M[name], settings.unit)}
    /></label>`;
  }

  private onCopy = (e: SubmitEvent): void => {
    e.preventDefault();
    const form = new FormData(e.target as HTMLFormElement);
    void this.make(
      { name: nameOf(String(form.get('name') ?? '')), ...chosen(String(form.get('from')), 'from', 'demo') },
      'copy',
    );
  };

  render(): TemplateResult {
    const houses = this.houses ?? [];
    return html`<main class="start">
      <header>
        <h1>Rooftree</h1>
        <p class="quiet">What a house was promised of its network, whether it is kept, and why.</p>
      </header>
      ${this.trouble ? html`<p class="warning" role="alert">That house cannot be opened: ${this.trouble}</p>` : nothing}
      <section aria-labelledby="houses-head">
        <h2 id="houses-head">Houses in this folder</h2>
        ${this.wrong === 'list' ? problemList(this.problems) : nothing}
        ${
          this.houses === null
            ? html`<p class="quiet">Looking into the folder.</p>`
            : houses.length
              ? html`<ul class="houses">
                  ${houses.map(
                    (h) =>
                      html`<li>
                        <a href=${`#${new URLSearchParams({ house: h.name })}`}>${h.title ?? h.name}</a>
                        <span class="quiet"
                          >${h.name}.house.yaml${h.can_be_read ? '' : ': something in it is wrong; open it to see what'}</span
                        >
                      </li>`,
                  )}
                </ul>`
              : html`<p>There is none yet: begin one below.</p>`
        }
      </section>
      <section aria-labelledby="new-head">
        <h2 id="new-head">A new house: blank, or traced from a picture of its plan</h2>
        <form class="fields" aria-labelledby="new-head" @submit=${this.onNew}>
          <label class="wide"
            >What people call it <input name="title" required maxlength="80" autocomplete="off"
          /></label>
          <label
            >Country
            <input
              name="country"
              required
              pattern="[A-Za-z]{2}"
              maxlength="2"
              .value=${this.first.country}
              aria-describedby="country-says"
          /></label>
          <label
            >Currency <input name="currency" required pattern="[A-Za-z]{3}" maxlength="3" .value=${this.first.currency}
          /></label>
          <label class="wide">Time zone <input name="time_zone" required .value=${this.first.time_zone} /></label>
          <p class="quiet wide" id="country-says">
            Two letters for the country, as in post addresses: its radio rules are used.
          </p>
          ${
            this.partsFiles.length || this.demoParts.length
              ? html`<label class="wide"
                  >Parts and prices
                  <select name="parts_file">
                    ${this.partsFiles.map((f) => html`<option value=${f.path} .selected=${f.currency === this.first.currency}>${f.path}, in ${f.currency}</option>`)}
                    ${this.demoParts.map((f) => html`<option value=${DEMO + f.path} .selected=${!this.partsFiles.length && f.currency === this.first.currency}>the demo's invented parts, in ${f.currency}; ${f.path} is copied here</option>`)}
                    <option value="">none yet</option>
                  </select></label
                >`
              : nothing
          }
          <fieldset class="wide sizes">
            <legend>The lowest floor; its outline can be drawn otherwise later</legend>
            ${this.size('width', 'Width')} ${this.size('depth', 'Depth')}
            ${this.size('height', 'Height to the ceiling')}
          </fieldset>
          <label class="wide"
            >A picture of its plan to draw over, if there is one: PNG, JPEG or PDF
            <input
              name="picture"
              type="file"
              accept=${PICTURE_KINDS}
              @change=${(e: Event) => (this.hasPicture = !!(e.target as HTMLInputElement).files?.length)}
          /></label>
          ${
            this.wrong === 'new'
              ? html`<div class="wide" role="alert">
                  ${problemList(this.problems)}
                  ${
                    this.begun
                      ? html`<p>
                          The house is begun, without that picture:
                          <a
                            href=${`#${new URLSearchParams({ house: this.begun, side: 'change', view: 'plan', tool: 'picture' })}`}
                            >open it</a
                          >
                        </p>`
                      : nothing
                  }
                </div>`
              : nothing
          }
          <button class="main">${this.hasPicture ? 'Begin with the picture' : 'Begin with a blank sheet'}</button>
        </form>
      </section>
      ${
        houses.length || this.demos.length
          ? html`<section aria-labelledby="copy-head">
              <h2 id="copy-head">A copy of a house</h2>
              <form class="fields" aria-labelledby="copy-head" @submit=${this.onCopy}>
                <label
                  >Of
                  <select name="from">
                    ${houses.map((h) => html`<option value=${h.name}>${h.title ?? h.name}</option>`)}
                    ${this.demos.map((d) => html`<option value=${DEMO + d.name}>${d.title}, a demo</option>`)}
                  </select></label
                >
                <label>The copy's name <input name="name" required maxlength="48" autocomplete="off" /></label>
                ${this.wrong === 'copy' ? html`<div class="wide" role="alert">${problemList(this.problems)}</div>` : nothing}
                <button>Copy and open</button>
              </form>
            </section>`
          : nothing
      }
      <footer>${preferences()}</footer>
    </main>`;
  }
}
