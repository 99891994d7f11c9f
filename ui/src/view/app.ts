import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { House } from '../state/house';
import { readAddress, writeAddress } from '../state/look';
import { opening } from '../state/opening';
import { Refused } from '../api/client';
import { readWords } from '../state/words';
import { Plain } from './base';
import { Fetched, others } from './fetched';
import './house';

/* Whoever opens a house at once does without the list of houses. */
const start = new Fetched(
  () => import('./start'),
  'The list of houses could not be fetched from the program: it was stopped, or is busy. Load this page again.',
);

@customElement('rt-app')
export class App extends Plain {
  @state() private house: House | null = null;
  @state() private trouble = '';
  @state() private coming: House | null = null; /* on its way; the one that was asked for last */

  connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener('hashchange', this.read);
    window.addEventListener('focus', this.refresh);
    document.addEventListener('visibilitychange', this.seen);
    void readWords().catch(() => undefined); /* without them nothing is suggested */
    void this.read();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener('hashchange', this.read);
    window.removeEventListener('focus', this.refresh);
    document.removeEventListener('visibilitychange', this.seen);
    this.house?.leave();
  }

  private refresh = (): void => {
    void this.house?.refresh().catch(() => undefined);
  };

  /* A browser has few connections to one server: a page that nobody sees keeps none. */
  private seen = (): void => {
    if (document.hidden) this.house?.leave();
    else this.refresh();
  };

  private read = async (): Promise<void> => {
    const address = readAddress();
    const { house: name, look, told } = address;
    if (!name) {
      this.leave();
      document.title = 'Rooftree';
      return;
    }
    const known = this.house ?? this.coming;
    if (known?.name === name) {
      Object.assign(known.look, look);
      if (told) known.said = told;
      known.tell();
      return;
    }
    const { house, loaded } = opening(address);
    house.addEventListener('look', () => writeAddress(house.name, house.look));
    this.trouble = '';
    this.leave();
    this.coming = house;
    try {
      await loaded;
      if (this.coming !== house) return;
      this.house = house;
      if (!document.hidden) house.follow();
      document.title = `${house.title} · Rooftree`;
      void house
        .sketched()
        .then(() => others.get())
        .catch(() => undefined); /* asked for again by whoever looks at it */
    } catch (e) {
      if (this.coming === house) this.trouble = e instanceof Refused ? e.message : String(e);
    } finally {
      if (this.coming === house) this.coming = null;
    }
  };

  /* No house is open, or on its way. */
  private leave(): void {
    this.house?.close();
    this.coming?.close();
    this.house = this.coming = null;
  }

  render(): TemplateResult {
    if (this.coming && !this.house)
      return html`<main class="start">
        <h1>Rooftree</h1>
        <p class="quiet" role="status">Opening ${this.coming.name}.</p>
      </main>`;
    return this.house
      ? html`<rt-house .house=${this.house}></rt-house>`
      : start.show(html`<rt-start .trouble=${this.trouble}></rt-start>`, this.drawAnew);
  }
}
