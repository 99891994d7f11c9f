import { html, type TemplateResult } from 'lit';
import { until } from 'lit/directives/until.js';

/* Views that the first look at a house does not show are fetched on their own: when it stands, or when they are first looked at. */

/* A part of the page: fetched once; if the program did not answer, asked for again when it is looked at again. */
export class Fetched<T> {
  private coming: Promise<T> | null = null;
  private isThere = false;

  constructor(
    private readonly ask: () => Promise<T>,
    private readonly trouble: string,
  ) {}

  get(): Promise<T> {
    return (this.coming ??= this.ask().then(
      (made) => {
        this.isThere = true;
        return made;
      },
      (e: unknown) => {
        this.coming = null;
        throw e;
      },
    ));
  }

  /* The element, once what it is made by is there, for which `again` draws it; until then, or why it is not.  Not before: an element that
     is made first and comes to life later does not have what was given to it when it is connected. */
  show(element: TemplateResult, again: () => void): TemplateResult {
    if (this.isThere) return element;
    const coming = this.get().then(again, () => html`<p class="in-sheet">${this.trouble}</p>`);
    return html`${until(coming, html`<p class="quiet in-sheet">One moment.</p>`)}`;
  }
}

export const others = new Fetched(
  () => import('./others'),
  'This could not be fetched from the program: it was stopped, or is busy. Start it again, and open the link it prints.',
);
