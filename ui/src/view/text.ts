import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { getText, Refused, type Problem } from '../api/client';
import { HouseView } from './base';

/* The file itself, with line numbers; what the engine says of it stands below, and leads to the line. */
@customElement('rt-text')
export class TextView extends HouseView {
  @state() private text: string | null = null;
  @state() private problems: Problem[] = [];
  @state() private trouble = '';
  @state() private conflict = false;
  @state() private dirty = false;
  private base = 0;

  connectedCallback(): void {
    super.connectedCallback();
    void this.read();
    this.house.addEventListener('moved', this.moved);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.house.removeEventListener('moved', this.moved);
  }

  private moved = (): void => {
    if (!this.dirty) void this.read();
    else if (this.house.revision !== this.base) this.conflict = true;
  };

  private async read(): Promise<void> {
    try {
      const { body, revision } = await getText(`${this.house.path}/file`);
      this.text = body;
      this.base = revision;
      this.dirty = false;
      this.conflict = false;
      this.problems = this.house.model?.problems ?? [];
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.trouble = e.message;
    }
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
    this.numbers();
  }

  private onScroll = (): void => {
    const gutter = this.querySelector<HTMLElement>('.line-numbers');
    if (gutter && this.area) gutter.scrollTop = this.area.scrollTop;
  };

  private save = async (e?: Event): Promise<void> => {
    e?.preventDefault();
    if (!this.area) return;
    const text = this.area.value;
    const outcome = await this.house.write(text, this.base);
    this.problems = outcome.problems;
    this.conflict = outcome.conflict;
    if (outcome.ok) {
      this.text = text;
      this.base = this.house.revision;
      this.dirty = false;
      this.house.say(
        outcome.problems.some((p) => !p.is_warning)
          ? `Written; ${outcome.problems.length} things are wrong in it`
          : 'Written, and read without a mistake',
      );
    }
  };

  private onKey = (e: KeyboardEvent): void => {
    if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 's') {
      e.preventDefault();
      void this.save();
    }
  };

  private go(p: Problem): void {
    const area = this.area;
    if (!area || !p.line) return;
    const lines = area.value.split('\n');
    const from = lines.slice(0, p.line - 1).reduce((n, l) => n + l.length + 1, 0) + (p.column ?? 1) - 1;
    area.focus();
    area.setSelectionRange(from, from + Math.max(p.bytes ?? 1, 1));
    area.scrollTop = (p.line - 6) * parseFloat(getComputedStyle(area).lineHeight);
    this.onScroll();
  }

  render(): TemplateResult {
    if (this.trouble) return html`<p class="warning in-sheet">The file cannot be shown: ${this.trouble}</p>`;
    if (this.text === null) return html`<p class="quiet in-sheet">One moment.</p>`;
    return html`<form class="text-view" aria-label="the house file as text" @submit=${this.save}>
      <div class="text-foot">
        <label for="file-text">${this.house.name}.house.yaml</label>
        <span class="quiet">Ctrl-S writes it; Tab leaves it</span>
        <button class="main" ?disabled=${!this.dirty || this.conflict}>write the file</button>
        <button type="button" ?disabled=${!this.dirty} @click=${() => this.read()}>as it is in the folder</button>
      </div>
      ${
        this.conflict
          ? html`<div class="warning" role="alert">
              <p>
                <strong>The house was changed elsewhere meanwhile.</strong> Your text is kept here. Look at what it is
                now on the sheet's history, then write yours over it, or take what is there.
              </p>
              <button type="button" @click=${() => ((this.base = this.house.revision), (this.conflict = false))}>
                mine shall go over it
              </button>
              <button type="button" @click=${() => this.read()}>take what is there</button>
            </div>`
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
          .value=${this.text}
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
