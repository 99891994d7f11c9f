import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { House } from '../state/house';
import type { Reading } from '../state/site';
import { number, readNumber, signed, time, words } from '../units';
import { HouseView } from './base';

/* Levels that were read against those expected: what is asked at a tapped spot, and the table of all. */

@customElement('rt-reading')
export class ReadingForm extends HouseView {
  @state() private picked = ''; /* "a1 5"; empty: the strongest */
  @state() private level = '';
  @state() private note = '';
  @state() private wrong = '';

  render(): TemplateResult | typeof nothing {
    const { report, spot } = this.house;
    if (!report || !spot || !report.access_points.length) return nothing;
    const of = (a: { id: string; band: string }): string => `${a.id} ${a.band}`;
    const chosen = report.access_points.find((a) => of(a) === this.picked) ?? report.access_points[0];
    const here = (this.house.site.readings?.readings ?? []).filter(
      (r) => r.floor === spot.floor && Math.hypot(r.at_m[0] - spot.at[0], r.at_m[1] - spot.at[1]) < 0.5,
    );
    return html`<form
      class="reading"
      aria-label="a level that was read here"
      @submit=${(e: Event) => this.keep(e, chosen)}
    >
      <h4>What did you read here?</h4>
      <label
        >access point and band
        <select @change=${(e: Event) => (this.picked = (e.target as HTMLSelectElement).value)}>
          ${report.access_points.map(
            (a) =>
              html`<option value=${of(a)} .selected=${a === chosen}>
                ${words(a.id)}, ${a.band} GHz: ${number(a.level_dbm, 0)} dBm expected
              </option>`,
          )}
        </select></label
      >
      <div class="reading-row">
        <label
          >level, dBm
          <input
            type="text"
            inputmode="text"
            autocomplete="off"
            placeholder="−60"
            aria-invalid=${this.wrong ? 'true' : 'false'}
            .value=${this.level}
            @input=${(e: Event) => (this.level = (e.target as HTMLInputElement).value)}
        /></label>
        <label
          >note
          <input
            type="text"
            autocomplete="off"
            maxlength="2000"
            .value=${this.note}
            @input=${(e: Event) => (this.note = (e.target as HTMLInputElement).value)}
        /></label>
        <button class="main">keep it</button>
      </div>
      ${this.wrong ? html`<p class="field-wrong" role="alert">${this.wrong}</p>` : nothing}
      ${here.map((r) => html`<p>${verdict(r)}</p>`)}
    </form>`;
  }

  private async keep(e: Event, heard: { id: string; band: string }): Promise<void> {
    e.preventDefault();
    const { spot } = this.house;
    const read = readNumber(this.level);
    if (!spot) return;
    if (read === null) {
      this.wrong = 'write the level as the telephone shows it, most often between −40 and −90';
      return;
    }
    /* a level below one milliwatt is often written without its sign */
    const level = read > 20 ? -read : read;
    await this.house.site.addReading(spot.floor, spot.at, heard.id, heard.band, level, this.note);
    this.wrong = this.house.site.trouble;
    if (this.wrong) return;
    this.level = '';
    this.note = '';
    const r = this.house.site.readings?.readings.at(-1);
    if (r) this.house.say(`Kept. ${verdictText(r)}`);
  }
}

function verdictText(r: Reading): string {
  const read = `${words(r.access_point)} at ${r.band} GHz: ${number(r.level_dbm, 1)} dBm read`;
  if (r.is_gone) return `${read}; the house has that no more`;
  const against =
    r.difference_db === null || r.expected_dbm === null
      ? 'nothing was expected to arrive'
      : `${number(r.expected_dbm, 1)} expected, ${signed(r.difference_db, 1)} dB`;
  const short = r.promises.filter((p) => !p.passed);
  const promised = !r.promises.length
    ? ''
    : short.length
      ? `; short of what was promised here (${number(short[0].needed_dbm, 0)} dBm)`
      : '; as promised here';
  return `${read}, ${against}${promised}`;
}
const verdict = (r: Reading): TemplateResult => html`${verdictText(r)}`;

const db = (v: number | null): string => (v === null ? '·' : signed(v, 1));

/* All readings as a table, with how far off they are altogether. */
@customElement('rt-readings')
export class ReadingsView extends HouseView {
  protected updated(): void {
    void this.house.site.readReadings();
  }

  render(): TemplateResult {
    const r = this.house.site.readings;
    if (!r) return html`<p class="quiet in-sheet" role="status">${this.house.site.trouble || 'One moment.'}</p>`;
    if (!r.readings.length)
      return html`<div class="in-sheet">
        <p class="lead">No level was read yet.</p>
        <p>
          With <em>install</em> and the plan, tap the spot where you stand, and write what the phone hears there: it is
          set beside what was expected.
        </p>
        <p>
          <button type="button" class="word" @click=${() => this.house.set({ side: 'install', view: 'plan' })}>
            to the plan
          </button>
        </p>
      </div>`;
    return html`<div class="in-sheet">
      <p class="lead">
        ${
          r.compared
            ? `${r.compared} compared: ${signed(r.mean_db ?? 0, 1)} dB in the mean, ${number(r.rms_db ?? 0, 1)} dB root mean square`
            : 'None can be compared with the house as it is.'
        }
      </p>
      <p class="quiet">
        Read less expected, of a ${r.device} at the ${r.estimate} estimate.
        <a href=${`${this.house.path}/readings.csv`} download>as a table (CSV)</a>
      </p>
      <div class="table-place" tabindex="0" role="region" aria-label="by access point">
        <table>
          <thead>
            <tr>
              <th scope="col">access point</th>
              <th scope="col">GHz</th>
              <th scope="col">readings</th>
              <th scope="col">mean, dB</th>
              <th scope="col">root mean square, dB</th>
            </tr>
          </thead>
          <tbody>
            ${r.by_access_point.map(
              (g) =>
                html`<tr>
                  <th scope="row">${words(g.access_point)}</th>
                  <td class="figure">${g.band}</td>
                  <td class="figure">${g.compared}</td>
                  <td class="figure">${db(g.mean_db)}</td>
                  <td class="figure">${g.rms_db === null ? '·' : number(g.rms_db, 1)}</td>
                </tr>`,
            )}
          </tbody>
        </table>
      </div>
      <div class="table-place" tabindex="0" role="region" aria-label="all readings">
        <table class="wide-table">
          <thead>
            <tr>
              <th scope="col">where</th>
              <th scope="col">access point</th>
              <th scope="col">read, dBm</th>
              <th scope="col">expected</th>
              <th scope="col">difference, dB</th>
              <th scope="col">promised</th>
              <th scope="col">when</th>
              <td></td>
            </tr>
          </thead>
          <tbody>
            ${r.readings.map((x) => row(this.house, x))}
          </tbody>
        </table>
      </div>
    </div>`;
  }
}

function row(house: House, r: Reading): TemplateResult {
  const short = r.promises.some((p) => !p.passed);
  return html`<tr>
    <th scope="row">
      <button type="button" class="word" @click=${() => house.set({ view: 'plan', floor: r.floor })}>
        ${r.where || r.floor}</button
      ><span class="quiet">${r.note}</span>
    </th>
    <td>${words(r.access_point)}, ${r.band} GHz${r.is_gone ? ' (gone)' : ''}</td>
    <td class="figure">${number(r.level_dbm, 1)}</td>
    <td class="figure">${r.expected_dbm === null ? '·' : number(r.expected_dbm, 1)}</td>
    <td class="figure">${db(r.difference_db)}</td>
    <td>${r.promises.length ? (short ? html`<b class="is-short">falls short</b>` : 'passes') : '·'}</td>
    <td>${time(r.at_s)}</td>
    <td>
      <button
        type="button"
        class="word"
        aria-label=${`take out the reading at ${r.where}`}
        @click=${() => house.site.removeReading(r.number)}
      >
        take out
      </button>
    </td>
  </tr>`;
}
