import { html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Vec3 } from '../api/types';
import { settings } from '../state/settings';
import { length, words } from '../units';
import { HouseView } from './base';

/* With the telephone in one hand and the drill in the other: what is to be fixed and laid, to be ticked.  The ticks stay in this
   browser. */
@customElement('rt-install')
export class InstallView extends HouseView {
  private get key(): string {
    return `rooftree-done-${this.house.name}`;
  }

  private get done(): Set<string> {
    try {
      return new Set(JSON.parse(localStorage.getItem(this.key) ?? '[]') as string[]);
    } catch {
      return new Set();
    }
  }

  private tick(path: string): void {
    const done = this.done;
    if (!done.delete(path)) done.add(path);
    try {
      localStorage.setItem(this.key, JSON.stringify([...done]));
    } catch {
      /* a browser that keeps nothing: the tick lasts as long as the page */
    }
    this.requestUpdate();
  }

  render(): TemplateResult {
    const d = this.house.drawing;
    if (!d) return html`<p class="quiet">${this.house.drawingTrouble || 'One moment.'}</p>`;
    const done = this.done;
    const floorOf = (id: string | null): string => d.floors.find((f) => f.id === id)?.name ?? '';
    const height = (z: number, floor: string | null): string =>
      length(z - (d.floors.find((f) => f.id === floor)?.z_m ?? 0), settings.unit);
    const place = (at: Vec3 | null): string =>
      at ? `${length(at[0], settings.unit)} by ${length(at[1], settings.unit)}` : '';
    const work = d.work.map((w, i) => ({
      path: `work-${i}-${w.says}`,
      name: words(w.says),
      quiet: [floorOf(w.floor), place(w.at), w.cables.map(words).join(', ')].filter(Boolean).join(', '),
      go: w.floor,
    }));
    const mounts = d.equipment
      .filter((e) => !e.inside && e.at)
      .map((e) => ({
        path: e.path,
        name: `${words(e.id)}${e.says ? `, ${e.says}` : ''}`,
        quiet: [
          e.mount ? `mount ${words(e.mount)}` : '',
          floorOf(e.floor),
          e.at ? `${height(e.at[2], e.floor)} up` : '',
        ]
          .filter(Boolean)
          .join(', '),
        go: e.floor,
      }));
    const cables = d.cables.map((c) => ({
      path: c.path,
      name: `${words(c.id)}: ${words(c.from.what)}${c.from.port ? ` ${c.from.port}` : ''} to ${words(c.to.what)}${c.to.port ? ` ${c.to.port}` : ''}`,
      quiet:
        c.length_m === null
          ? c.why_not
          : [length(c.length_m, settings.unit, 1), words(c.part)].filter(Boolean).join(', '),
      go: c.stretches.find((s) => s.floor)?.floor ?? null,
    }));
    const lists = [
      { head: 'Fix', rows: mounts },
      { head: 'Drill and lift', rows: work },
      { head: 'Lay and label', rows: cables },
    ].filter((l) => l.rows.length);
    return html`<div class="install">
      <p class="caution">
        Before drilling: mains cables and pipes hide in walls. Local codes and licensed trades decide.
      </p>
      ${lists.map((l) => {
        const n = l.rows.filter((r) => done.has(r.path)).length;
        return html`<section>
          <h2>${l.head} <span class="quiet">${n} of ${l.rows.length} done</span></h2>
          <ul class="ticks">
            ${l.rows.map(
              (r) =>
                html`<li class=${done.has(r.path) ? 'is-done' : ''}>
                  <label class="tick"
                    ><input type="checkbox" .checked=${done.has(r.path)} @change=${() => this.tick(r.path)} /><span
                      >${r.name}<span class="quiet">${r.quiet}</span></span
                    ></label
                  >
                  ${
                    r.go
                      ? html`<button
                          type="button"
                          class="word"
                          aria-label=${`show ${r.name} on the plan`}
                          @click=${() => this.house.set({ view: 'plan', floor: r.go as string })}
                        >
                          show
                        </button>`
                      : nothing
                  }
                </li>`,
            )}
          </ul>
        </section>`;
      })}
      <section>
        <h2>On paper</h2>
        <p><a href=${`${this.house.path}/book.pdf`} target="_blank" rel="noopener">the hand-over book, as PDF</a></p>
      </section>
      ${lists.length ? nothing : html`<p>There is nothing to install yet.</p>`}
    </div>`;
  }
}
