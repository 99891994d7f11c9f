import { html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { getText, Refused, type Problem } from '../api/client';
import { conflicts, joined, lineAfter, merge, taken, type Choice, type Chunk } from '../state/lines';
import { HouseView } from './base';
import { both, complete, tookOver } from './joining';

/* The file itself, with line numbers; what the engine says of it stands below, and leads to the line.  What was changed elsewhere while
   somebody writes is joined with theirs line by line, and shown before anything is written. */
@customElement('rt-text')
export class TextView extends HouseView {
  @property() file: 'house' | 'parts' = 'house';
  @state() private base: string | null = null; /* as it was loaded; what is written here is a change of that */
  @state() private problems: Problem[] = [];
  @state() private trouble = '';
  @state() private dirty = false;
  @state() private chunks: Chunk[] | null = null; /* of which some must be chosen */
  @state() private choices: (Choice | '')[] = [];
  @state() private took: { line: number; n: number }[] = []; /* what was joined last */
  private revision = 0; /* of the base */
  private theirs = { text: '', revision: 0 }; /* that the chunks are made with */
  private next: string | null = null; /* what the field is to hold after the next drawing */
  private eol = '\n'; /* a text field knows no other; the file keeps its own */
  private asked = 0;

  connectedCallback(): void {
    super.connectedCallback();
    void this.read();
    this.house.addEventListener('moved', this.moved);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.house.removeEventListener('moved', this.moved);
  }

  private get path(): string {
    return `${this.house.path}${this.file === 'parts' ? '/parts' : ''}/file`;
  }

  private get called(): string {
    return this.file === 'parts' ? this.house.parts.file : `${this.house.name}.house.yaml`;
  }

  private moved = (): void => void (this.dirty ? this.join() : this.read());

  /* As it is in the folder; null: it cannot be had, or was asked for again meanwhile. */
  private async fetch(): Promise<{ text: string; revision: number } | null> {
    const asked = ++this.asked;
    try {
      const { body, revision } = await getText(this.path);
      if (asked !== this.asked) return null;
      this.trouble = '';
      this.eol = body.includes('\r\n') ? '\r\n' : '\n';
      return { text: body.replaceAll('\r\n', '\n'), revision };
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      if (asked === this.asked) this.trouble = e.message;
      return null;
    }
  }

  private async read(): Promise<void> {
    const now = await this.fetch();
    if (!now) return;
    this.settle(now, now.text);
    this.took = [];
    const model = this.file === 'parts' ? this.house.parts.model : this.house.model;
    this.problems = model?.problems ?? [];
  }

  /* What is written here is a change of that now. */
  private settle(base: { text: string; revision: number }, text: string): void {
    this.base = base.text;
    this.revision = base.revision;
    this.next = text;
    this.dirty = text !== base.text;
    this.chunks = null;
    this.requestUpdate();
  }

  /* It was changed elsewhere while somebody writes here. */
  private async join(): Promise<void> {
    const now = await this.fetch();
    if (!now || !this.area || this.base === null || now.revision === this.revision) return;
    this.theirs = now;
    const chunks = merge(this.base, this.area.value, now.text);
    const open = conflicts(chunks).length;
    if (!open) return this.put(chunks, []);
    this.chunks = chunks;
    this.choices = Array<''>(open).fill('');
    this.house.say('The file was changed elsewhere, also where you changed it: choose what shall stand');
  }

  private put(chunks: Chunk[], chosen: Choice[]): void {
    const area = this.area;
    if (!area) return;
    const line = area.value.slice(0, area.selectionStart).split('\n').length - 1;
    const column = area.selectionStart - (area.value.lastIndexOf('\n', area.selectionStart - 1) + 1);
    const closed = complete(chunks, chosen);
    this.took = taken(closed);
    this.settle(this.theirs, joined(closed));
    const had = document.activeElement === area;
    void this.updateComplete.then(() => this.select(lineAfter(closed, line) + 1, column, 0, had));
    this.house.say('The file was changed elsewhere; that is joined with yours, and not written yet');
  }

  private get area(): HTMLTextAreaElement | null {
    return this.querySelector('textarea');
  }

  private onInput = (): void => {
    this.dirty = true;
    this.numbers();
  };

  private numbers(): void {
    const gutter = this.querySelector<HTMLElement>('.line-numbers');
    if (!gutter || !this.area) return;
    const lines = this.area.value.split('\n').length;
    const wrong = new Set(this.problems.filter((p) => p.line).map((p) => p.line as number));
    gutter.textContent = Array.from({ length: lines }, (_, i) =>
      wrong.has(i + 1) ? `× ${i + 1}` : String(i + 1),
    ).join('\n');
    gutter.scrollTop = this.area.scrollTop;
  }

  protected updated(): void {
    if (this.next !== null && this.area) {
      if (this.area.value !== this.next) this.area.value = this.next;
      this.next = null;
    }
    this.numbers();
  }

  private onScroll = (): void => {
    const gutter = this.querySelector<HTMLElement>('.line-numbers');
    if (gutter && this.area) gutter.scrollTop = this.area.scrollTop;
  };

  private save = async (e?: Event): Promise<void> => {
    e?.preventDefault();
    if (!this.area || this.chunks) return;
    const text = this.area.value;
    const bytes = text.replaceAll('\n', this.eol);
    const outcome = await (this.file === 'parts' ? this.house.parts : this.house).write(bytes, this.revision);
    this.problems = outcome.problems;
    if (outcome.conflict) return this.join();
    if (!outcome.ok) return;
    const is = this.file === 'parts' ? this.house.parts.revision : this.house.revision;
    this.base = text;
    this.revision = is;
    this.dirty = this.area.value !== text;
    this.took = [];
    this.house.say(
      outcome.problems.some((p) => !p.is_warning)
        ? `Written; ${outcome.problems.length} things are wrong in it`
        : 'Written, and read without a mistake',
    );
  };

  private onKey = (e: KeyboardEvent): void => {
    if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 's') {
      e.preventDefault();
      void this.save();
    }
  };

  private select(line: number, column: number, n: number, focus = true): void {
    const area = this.area;
    if (!area) return;
    const lines = area.value.split('\n');
    const from = lines.slice(0, line - 1).reduce((sum, l) => sum + l.length + 1, 0) + column;
    if (focus) area.focus();
    area.setSelectionRange(from, from + n);
    area.scrollTop = (line - 6) * parseFloat(getComputedStyle(area).lineHeight);
    this.onScroll();
  }

  /* Letters of so many lines. */
  private lengthOf(line: number, n: number): number {
    const lines = this.area?.value.split('\n') ?? [];
    return lines.slice(line - 1, line - 1 + n).join('\n').length;
  }

  private go(p: Problem): void {
    if (p.line) this.select(p.line, (p.column ?? 1) - 1, Math.max(p.bytes ?? 1, 1));
  }

  private choose = (nth: number, choice: Choice): void => {
    this.choices = this.choices.map((c, i) => (i === nth ? choice : c));
  };

  private toJoin(chunks: Chunk[]): TemplateResult {
    const chosen = this.choices.filter((c): c is Choice => c !== '');
    return both(chunks, this.choices, this.choose, {
      put: chosen.length === this.choices.length ? () => this.put(chunks, chosen) : null,
      take: () => void this.read(),
    });
  }

  render(): TemplateResult {
    if (this.trouble) return html`<p class="warning in-sheet">The file cannot be shown: ${this.trouble}</p>`;
    if (this.base === null) return html`<p class="quiet in-sheet">One moment.</p>`;
    return html`<form class="text-view" aria-label=${`the ${this.file} file as text`} @submit=${this.save}>
      <div class="text-foot">
        <label for="file-text">${this.called}</label>
        <span class="quiet">Ctrl-S writes it; Tab leaves it</span>
        <button class="main" ?disabled=${!this.dirty || this.chunks !== null}>write the file</button>
        <button type="button" ?disabled=${!this.dirty} @click=${() => this.read()}>as it is in the folder</button>
      </div>
      ${this.chunks ? this.toJoin(this.chunks) : nothing}
      ${
        this.took.length && !this.chunks
          ? tookOver(this.took, (at) => this.select(at.line, 0, this.lengthOf(at.line, at.n)))
          : nothing
      }
      <div class="text-place">
        <pre class="line-numbers" aria-hidden="true"></pre>
        <textarea
          id="file-text"
          spellcheck="false"
          wrap="off"
          autocomplete="off"
          autocapitalize="off"
          ?readonly=${this.chunks !== null}
          @input=${this.onInput}
          @scroll=${this.onScroll}
          @keydown=${this.onKey}
        ></textarea>
      </div>
      <section class="diagnostics" aria-label="What the engine says of the file" aria-live="polite">
        ${
          this.problems.length
            ? html`<ul class="problems">
                ${this.problems.map(
                  (p) =>
                    html`<li class=${p.is_warning ? 'is-warning' : 'is-wrong'}>
                      ${p.line ? html`<button type="button" class="word" @click=${() => this.go(p)}>line ${p.line}</button>` : nothing}
                      <strong>${p.is_warning ? 'take care: ' : ''}${p.says}</strong>
                      ${p.hint ? html`<span>${p.hint}</span>` : nothing}
                    </li>`,
                )}
              </ul>`
            : html`<p class="quiet">${this.dirty ? 'Not written yet.' : 'The file reads without a mistake.'}</p>`
        }
      </section>
    </form>`;
  }
}
