import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Heard } from '../api/types';
import { isDrawn, rayName } from '../state/house';
import { DRAWINGS, QUANTITIES, TABLES, TOOLS, VIEWS, type SheetView } from '../state/look';
import { length, number, time, words } from '../units';
import { settings } from '../state/settings';
import { HouseView } from './base';
import { choices } from './parts';
import './drawing';
import { others } from './fetched';
import { fieldChoices } from './field_choices';
import { RAYS_EACH, RAYS_OF } from './layers/rays';
import { model, modelChoices } from './model';

/* The sheet: choices as words in its head, the drawing (or the text, the week ...) in its middle, the title block at its foot. */

@customElement('rt-sheet')
export class Sheet extends HouseView {
  @state() private open = false; /* on a telephone the choices stand behind one word */

  render(): TemplateResult {
    const drawn = isDrawn(this.house.look.view);
    return html`<section class="sheet" aria-labelledby="sheet-head">
      <h2 id="sheet-head" class="unseen">${this.drawingName()}</h2>
      ${this.head()} ${drawn ? fieldChoices(this.house) : nothing}
      <div class=${drawn ? 'sheet-body is-drawing' : 'sheet-body'}>${this.body()}</div>
      ${drawn ? this.spot() : nothing} ${this.titleBlock()}
    </section>`;
  }

  private see = (view: SheetView): void => {
    this.open = false;
    this.house.set({ view });
  };

  private head(): TemplateResult {
    const { view } = this.house.look;
    return html`<div class="sheet-head" @keydown=${this.onHeadKey}>
      <div class="head-now">
        <span class="head-says">${this.drawingName()}</span>
        <button
          type="button"
          class="word"
          aria-expanded=${this.open ? 'true' : 'false'}
          aria-controls="head-choices"
          @click=${() => (this.open = !this.open)}
        >
          ${this.open ? 'close' : 'choose'}
        </button>
      </div>
      <div id="head-choices" class=${this.open ? 'head-choices is-open' : 'head-choices'}>
        <div class="head-row">${choices('Drawing', DRAWINGS, view, this.see)} ${this.ofDrawing()}</div>
        <div class="head-row is-quiet">${choices('Told in rows', TABLES, view, this.see)}</div>
      </div>
    </div>`;
  }

  private onHeadKey = (e: KeyboardEvent): void => {
    if (e.key !== 'Escape' || !this.open) return;
    this.open = false;
    this.querySelector<HTMLElement>('.head-now button')?.focus();
  };

  /* What of the house the drawing shows. */
  private ofDrawing(): TemplateResult | typeof nothing {
    const look = this.house.look;
    const floors = this.house.drawing?.floors ?? [];
    if (!isDrawn(look.view)) return nothing;
    return html`${
      look.view === 'plan' && floors.length > 1
        ? choices(
            'Floor',
            floors.map((f) => ({ value: f.id, word: f.name })),
            look.floor,
            (floor) => this.house.set({ floor }),
          )
        : nothing
    }
    ${look.view === 'model' ? modelChoices(this.house) : nothing}
    ${
      look.view === 'plan' && look.side === 'change' && floors.length
        ? choices('Tool', TOOLS, look.tool, (tool) => this.house.set({ tool }))
        : nothing
    }
    ${
      this.house.hasField
        ? html`${choices('Quantity', QUANTITIES, look.quantity, (quantity) => this.house.set({ quantity }))}
          ${
            look.quantity === 'none'
              ? nothing
              : choices(
                  'Band',
                  this.house.bands.map((b) => ({ value: b, word: `${number(Number(b))} GHz` })),
                  look.band,
                  (band) => this.house.set({ band }),
                )
          }`
        : nothing
    }`;
  }

  private body(): TemplateResult {
    switch (this.house.look.view) {
      case 'plan':
        return html`<rt-drawing kind="plan" .house=${this.house}></rt-drawing>`;
      case 'model':
        return model(this.house, this.drawAnew);
      case 'text':
        return others.show(html`<rt-text .house=${this.house}></rt-text>`, this.drawAnew);
      case 'week':
        return others.show(html`<rt-week .house=${this.house}></rt-week>`, this.drawAnew);
      case 'failures':
        return others.show(html`<rt-failures .house=${this.house}></rt-failures>`, this.drawAnew);
      case 'ports':
        return others.show(html`<rt-ports .house=${this.house}></rt-ports>`, this.drawAnew);
      case 'matrix':
        return others.show(html`<rt-matrix .house=${this.house}></rt-matrix>`, this.drawAnew);
      case 'compare':
        return others.show(html`<rt-compare .house=${this.house}></rt-compare>`, this.drawAnew);
      case 'parts':
        return others.show(html`<rt-part-list .house=${this.house}></rt-part-list>`, this.drawAnew);
      case 'readings':
        return others.show(html`<rt-readings .house=${this.house}></rt-readings>`, this.drawAnew);
      case 'history':
        return others.show(html`<rt-history .house=${this.house}></rt-history>`, this.drawAnew);
      default:
        return html`<rt-drawing kind="apart" .house=${this.house}></rt-drawing>`;
    }
  }

  private drawingName(): string {
    const { view, quantity, band, floor } = this.house.look;
    if (!isDrawn(view)) return VIEWS.find((v) => v.value === view)?.word ?? '';
    const f = this.house.drawing?.floors.find((x) => x.id === floor);
    const what =
      quantity === 'none' || !this.house.fields.size
        ? 'the house'
        : `${QUANTITIES.find((q) => q.value === quantity)?.word} at ${number(Number(band))} GHz`;
    return view === 'plan' ? `${what}, ${f?.name ?? ''}` : `${what}, ${view === 'model' ? 'in 3-D' : 'floors apart'}`;
  }

  private titleBlock(): TemplateResult {
    const h = this.house.history;
    const now = h?.revisions.find((r) => r.number === h.at);
    return html`<dl class="title-block">
      <div>
        <dt>house</dt>
        <dd>${this.house.title}</dd>
      </div>
      <div>
        <dt>drawing</dt>
        <dd>${this.drawingName()}</dd>
      </div>
      <div>
        <dt>revision</dt>
        <dd>${this.house.revision}${now ? html`<span class="when">, ${time(now.at_s)}</span>` : nothing}</dd>
      </div>
    </dl>`;
  }

  /* The paths from one access point; the one that is chosen is marked on the drawing, by pointer or arrow keys. */
  private rayList(heard: Heard): TemplateResult {
    return html`<ul class="ray-list" @keydown=${this.onRayKey}>
      ${heard.paths.slice(0, RAYS_EACH).map((p, k) => {
        const name = rayName(heard, k);
        const chosen = this.house.ray === name;
        return html`<li>
          <button
            type="button"
            class="word"
            aria-pressed=${chosen ? 'true' : 'false'}
            @click=${() => this.chooseRay(name)}
            @focus=${() => this.chooseRay(name)}
          >
            <svg class="ray-key" width="26" height="8" aria-hidden="true">
              <path class=${`ray is-${p.kind}`} d="M1 4H25"></path>
            </svg>
            ${p.kind}, ${length(p.length_m, settings.unit, 1)}: ${number(p.level_dbm ?? 0, 0)} dBm
          </button>
          ${
            chosen && p.crossings.length
              ? html`<span class="quiet"
                  >${p.crossings.map((c) => `${words(c.id)} ${c.reflection ? 'reflects ' : c.bend ? 'bends ' : ''}−${number(c.loss_db, 0)}`).join(', ')}</span
                >`
              : nothing
          }
        </li>`;
      })}
    </ul>`;
  }

  private chooseRay(name: string): void {
    if (this.house.ray === name) return;
    this.house.ray = name;
    this.house.tell();
  }

  private onRayKey = (e: KeyboardEvent): void => {
    const step = e.key === 'ArrowDown' ? 1 : e.key === 'ArrowUp' ? -1 : 0;
    if (!step) return;
    const all = [...this.querySelectorAll<HTMLButtonElement>('.ray-list button')];
    const next = all[all.indexOf(e.target as HTMLButtonElement) + step];
    if (!next) return;
    e.preventDefault();
    next.focus();
  };

  private closeSpot = (): void => {
    this.house.forgetSpot();
    this.querySelector<HTMLElement>('svg.house, .model')?.focus();
  };

  private onSpotKey = (e: KeyboardEvent): void => {
    if (e.key === 'Escape') this.closeSpot();
  };

  /* What the spot that was asked about hears. */
  private spot(): TemplateResult | typeof nothing {
    const { spot, report, spotTrouble } = this.house;
    if (!spot) return nothing;
    return html`<section class="spot-panel" aria-labelledby="spot-head" @keydown=${this.onSpotKey}>
      <header>
        <h3 id="spot-head">${report ? report.spot.where : 'This spot'}</h3>
        <button type="button" class="word" @click=${this.closeSpot}>close</button>
      </header>
      ${spotTrouble ? html`<p class="warning">${spotTrouble}</p>` : nothing}
      ${this.house.look.side === 'install' ? html`<rt-reading .house=${this.house}></rt-reading>` : nothing}
      ${
        report
          ? html`<p class="quiet">
                ${length(report.spot.at_m[0], settings.unit)} by ${length(report.spot.at_m[1], settings.unit)}, heard by
                a ${report.device}, ${report.estimate} estimate
              </p>
              <ol class="heard">
                ${report.access_points.slice(0, 5).map(
                  (a, i) =>
                    html`<li>
                      <p>
                        <b>${words(a.id)}</b> ${a.band} GHz <b>${number(a.level_dbm, 0)} dBm</b>
                        <span class="quiet"
                          >promised ${number(a.promised_level_dbm, 0)}, up ${number(a.uplink_level_dbm, 0)},
                          ${number(a.payload_mbps, 0)} Mb/s</span
                        >
                      </p>
                      ${i < RAYS_OF ? this.rayList(a) : nothing}
                    </li>`,
                )}
              </ol>`
          : spotTrouble
            ? nothing
            : html`<p class="quiet">One moment.</p>`
      }
    </section>`;
  }
}
