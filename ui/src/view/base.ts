import { LitElement } from 'lit';
import { property } from 'lit/decorators.js';
import type { House } from '../state/house';
import { settings } from '../state/settings';

/* Elements of the page live in the page itself, not behind a shadow: one sheet of styles, one order of headings, one focus order. */
export class Plain extends LitElement {
  /* Drawn again: what it waited for is there. */
  protected readonly drawAnew = (): void => this.requestUpdate();

  protected createRenderRoot(): HTMLElement {
    return this;
  }
}

/* An element that shows an open house and follows it. */
export class HouseView extends Plain {
  @property({ attribute: false }) house!: House;
  private heard: House | null = null;
  private readonly follow = (): void => this.requestUpdate();

  connectedCallback(): void {
    super.connectedCallback();
    settings.addEventListener('change', this.follow);
    this.listen();
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    settings.removeEventListener('change', this.follow);
    this.heard?.removeEventListener('change', this.follow);
    this.heard = null;
  }

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('house')) this.listen();
  }

  private listen(): void {
    if (this.heard === this.house) return;
    this.heard?.removeEventListener('change', this.follow);
    this.heard = this.house ?? null;
    this.heard?.addEventListener('change', this.follow);
  }
}

/* Who pressed what then is gone, or has nothing to do any more, goes on from the first of these. */
export function refocus(root: HTMLElement, selector: string): void {
  const now = document.activeElement;
  if (now && now !== document.body && !now.matches(':disabled')) return;
  [...root.querySelectorAll<HTMLElement>(selector)].find((e) => e.checkVisibility())?.focus();
}

export const every = <T>(items: Iterable<T>): T[] => Array.from(items);
