import { html, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { House, type Look } from '../state/house';
import { Refused } from '../api/client';
import { readWords } from '../state/words';
import { Plain } from './base';
import { SIDES } from './house';
import { QUANTITIES, VIEWS } from './sheet';
import './start';
import { TOOLS } from './tools';

/* Which house is open and how it is looked at stands in the address, so that a page can be opened again as it was. */
const KEYS: (keyof Look)[] = [
  'side',
  'view',
  'band',
  'quantity',
  'floor',
  'promise',
  'section',
  'item',
  'tool',
  'page',
  'availability',
  'estimate',
  'device',
  'only',
  'failure',
  'hidden',
  'lifted',
];

/* What an address may say of these; another word, of an older page or mistyped, is told and gives way to the usual. */
const KNOWN: Partial<Record<keyof Look, readonly string[]>> = {
  side: SIDES.map((s) => s.value),
  view: VIEWS.map((v) => v.value),
  quantity: QUANTITIES.map((q) => q.value),
  tool: TOOLS.map((t) => t.name),
};

@customElement('rt-app')
export class App extends Plain {
  @state() private house: House | null = null;
  @state() private trouble = '';
  @state() private opening = '';

  connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener('hashchange', this.read);
    window.addEventListener('focus', this.refresh);
    void readWords().catch(() => undefined); /* without them nothing is suggested */
    void this.read();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener('hashchange', this.read);
    window.removeEventListener('focus', this.refresh);
  }

  private refresh = (): void => {
    void this.house?.refresh().catch(() => undefined);
  };

  private read = async (): Promise<void> => {
    const said = new URLSearchParams(location.hash.slice(1));
    const name = said.get('house') ?? '';
    if (!name) {
      this.house = null;
      this.opening = '';
      document.title = 'Rooftree';
      return;
    }
    const look: Partial<Look> = {};
    const strange: string[] = [];
    for (const key of KEYS) {
      const value = said.get(key);
      if (value === null) continue;
      if (KNOWN[key]?.includes(value) ?? true) (look as Record<string, string>)[key] = value;
      else strange.push(`${key} ${value}`);
    }
    const told = strange.length ? `There is no ${strange.join(', no ')}: the usual is shown` : '';
    if (this.house?.name === name) {
      Object.assign(this.house.look, look);
      if (told) this.house.said = told;
      this.house.tell();
      return;
    }
    const house = new House(name);
    Object.assign(house.look, look);
    house.said = told;
    house.addEventListener('look', () => this.write(house));
    this.trouble = '';
    this.house = null;
    this.opening = name;
    try {
      await house.load();
      if (this.opening !== name) return;
      this.house = house;
      document.title = `${house.title} · Rooftree`;
    } catch (e) {
      this.house = null;
      this.trouble = e instanceof Refused ? e.message : String(e);
    } finally {
      if (this.opening === name) this.opening = '';
    }
  };

  private write(house: House): void {
    const q = new URLSearchParams({ house: house.name });
    for (const key of KEYS) if (house.look[key]) q.set(key, house.look[key]);
    history.replaceState(null, '', `#${q}`);
  }

  render(): TemplateResult {
    if (this.opening)
      return html`<main class="start">
        <h1>Rooftree</h1>
        <p class="quiet" role="status">Opening ${this.opening}.</p>
      </main>`;
    return this.house
      ? html`<rt-house .house=${this.house}></rt-house>`
      : html`<rt-start .trouble=${this.trouble}></rt-start>`;
  }
}
