import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { fetchRaw, getJson, postJson, Refused, type Problem } from '../api/client';
import type { PromiseResult, State, StateAnswer } from '../api/types';
import { number, words } from '../units';
import { HouseView, refocus } from './base';
import { mark } from './parts';
import { marginOf } from './promises';

/* A design: begun here, watched as it goes, stopped at will; its result beside the house as it is, to be taken whole or in part. */

interface Designed {
  cost: { total_minor: number; currency: string };
  bound_minor: number | null;
  gap: number | null;
  seconds: number;
  stopped: string | boolean;
  added: { id: string; part: string; mount: string; because: string }[];
  moved: { id: string; part: string; mount: string; because: string }[];
  bill: { kind: string; what: string; count: number; unit: string; total_minor: number | null }[];
  promises: PromiseResult[];
  conflict: { promise: string; says: string }[];
}

interface Job {
  job: number;
  state: 'running' | 'done' | 'failed';
  revision: number;
  what: string;
  share: number;
  problems: Problem[];
  design?: Designed;
}

const SECTIONS = ['equipment', 'mounts', 'cables'];

@customElement('rt-design')
export class DesignView extends HouseView {
  @state() private job: Job | null = null;
  @state() private anew = false;
  @state() private seconds = 30;
  @state() private trouble = '';
  @state() private sections = new Set<string>(SECTIONS);
  private events: EventSource | null = null;
  private of = '';
  private stands = ''; /* how the design stands that was begun here */

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    if (this.of === this.house.name) return;
    this.of = this.house.name;
    if (this.house.job) void this.watch(this.house.job);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.events?.close();
    this.events = null;
  }

  /* Who began it by the keyboard goes on at what can be done now: `begin` cannot while it runs, nor can `stop` when it is done. */
  protected updated(): void {
    const stands = this.stands && this.job ? `${this.job.job} ${this.job.state}` : this.stands;
    if (stands === this.stands) return;
    this.stands = stands;
    refocus(this, this.job?.state === 'running' ? '.progress button' : this.job?.design ? 'h3' : 'button.main');
  }

  private async try(what: () => Promise<void>): Promise<void> {
    try {
      this.trouble = '';
      await what();
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.trouble = [e.message, e.problems[0]?.hint].filter(Boolean).join('; ');
    }
  }

  private begin = (e: Event): void => {
    e.preventDefault();
    this.stands = 'begun';
    void this.try(async () => {
      const asked = { anew: this.anew, seconds: this.seconds };
      const { body } = await postJson<{ job: number }>(`${this.house.path}/design`, asked);
      this.house.job = body.job;
      this.house.say('The design has begun');
      await this.watch(body.job);
    });
  };

  private async watch(job: number): Promise<void> {
    await this.try(() => this.look(job));
    if (this.job?.state !== 'running') return;
    this.events?.close();
    const events = new EventSource(`/api/jobs/${job}/events`);
    this.events = events;
    events.addEventListener('progress', (e) => {
      const said = JSON.parse((e as MessageEvent<string>).data) as Pick<Job, 'state' | 'what' | 'share'>;
      if (this.job) this.job = { ...this.job, ...said };
    });
    events.addEventListener('done', () => {
      events.close();
      void this.try(() => this.look(job)).then(() =>
        this.house.say(this.job?.design ? 'The design is ready' : 'No design'),
      );
    });
  }

  private async look(job: number): Promise<void> {
    this.job = (await getJson<Job>(`/api/jobs/${job}`)).body;
  }

  private cancel = (): void => {
    const job = this.job;
    if (job) void this.try(async () => void (await fetchRaw('DELETE', `/api/jobs/${job.job}`)));
  };

  private take(all: boolean): void {
    const job = this.job;
    if (!job) return;
    void this.try(async () => {
      await postJson<StateAnswer>(`/api/jobs/${job.job}/take`, all ? { all: true } : { sections: [...this.sections] });
      this.house.said = all ? 'The design was taken; undo gives the house back' : 'Part of the design was taken';
      await this.house.refresh();
    });
  }

  render(): TemplateResult {
    const running = this.job?.state === 'running';
    return html`<section class="design" aria-labelledby="design-head">
      <h2 id="design-head">Find the least costly house that keeps the promises</h2>
      <form class="sentence" aria-labelledby="design-head" @submit=${this.begin}>
        Begin
        <select
          aria-label="from what"
          @change=${(e: Event) => (this.anew = (e.target as HTMLSelectElement).value === 'anew')}
        >
          <option value="here" .selected=${!this.anew}>from what is there</option>
          <option value="anew" .selected=${this.anew}>anew, as if nothing were there</option>
        </select>
        and look for
        <select
          aria-label="how long"
          @change=${(e: Event) => (this.seconds = Number((e.target as HTMLSelectElement).value))}
        >
          ${[10, 30, 120, 600].map((s) => html`<option value=${s} .selected=${s === this.seconds}>${s < 60 ? `${s} seconds` : `${s / 60} minutes`}</option>`)}
        </select>
        at most. <button class="main" ?disabled=${running}>begin</button>
      </form>
      ${this.trouble ? html`<p class="warning" role="alert">${this.trouble}</p>` : nothing}
      ${running && this.job ? this.progress(this.job) : nothing}
      ${
        this.job?.state === 'failed' && this.job.problems.every((p) => p.code === 'CANCELLED')
          ? html`<p class="stopped">It was stopped before it had found anything.</p>`
          : nothing
      }
      ${
        this.job?.state === 'failed' && this.job.problems.some((p) => p.code !== 'CANCELLED')
          ? html`<div class="warning" role="alert">
              <p>No design came of it.</p>
              ${this.job.problems.map((p) => html`<p>${p.says}</p>`)}
            </div>`
          : nothing
      }
      ${this.job?.design ? this.result(this.job.design, this.job.revision) : nothing}
    </section>`;
  }

  private progress(job: Job): TemplateResult {
    return html`<div class="progress">
      <label for="design-progress">${job.what || 'it is under way'}</label>
      <progress id="design-progress" max="1" .value=${job.share}></progress>
      <button type="button" @click=${this.cancel}>stop, and take the best so far</button>
    </div>`;
  }

  /* Amounts come in the smallest unit of the currency; its decimals are those of the reader's own tables. */
  private money(minor: number | null, currency: string): string {
    if (minor === null) return 'price not known';
    const f = new Intl.NumberFormat(undefined, { style: 'currency', currency });
    return f.format(minor / 10 ** (f.resolvedOptions().maximumFractionDigits ?? 2));
  }

  private result(d: Designed, of: number): TemplateResult {
    const now = new Map((this.house.promises?.promises ?? []).map((p) => [p.id, p]));
    const count = (list: { state: State }[], s: State): number => list.filter((p) => p.state === s).length;
    const differs = d.promises.filter((p) => now.get(p.id)?.state !== p.state || now.get(p.id)?.margin !== p.margin);
    const currency = d.cost.currency;
    return html`<h3 tabindex="-1">What came of it</h3>
      <p>
        <b>${count(d.promises, 'kept')} kept</b>, ${count(d.promises, 'broken')} broken, ${count(d.promises, 'unknown')}
        unknown, for <b>${this.money(d.cost.total_minor, currency)}</b>${
          d.bound_minor === null || d.gap === null
            ? nothing
            : html`; none of its places costs less than ${this.money(d.bound_minor, currency)} (${number(d.gap * 100)} %
              below)`
        }.
        ${of === this.house.revision ? nothing : html`<i>Of revision ${of}; the house has changed since.</i>`}
      </p>
      ${
        d.conflict.length
          ? html`<h4>What cannot be kept</h4>
              <ul>
                ${d.conflict.map((c) => html`<li>${c.says || words(c.promise)}</li>`)}
              </ul>`
          : nothing
      }
      <table>
        <caption>
          promises that differ
        </caption>
        <thead>
          <tr>
            <th scope="col">promise</th>
            <th scope="col">now</th>
            <th scope="col">designed</th>
          </tr>
        </thead>
        <tbody>
          ${differs.map((p) => {
            const was = now.get(p.id);
            return html`<tr>
              <th scope="row">${p.says}</th>
              <td>${was ? html`${mark(was.state)} ${marginOf(was)}` : 'not there'}</td>
              <td>${mark(p.state)} ${marginOf(p)}</td>
            </tr>`;
          })}
        </tbody>
      </table>
      ${[...d.added.map((x) => ({ ...x, how: 'new' })), ...d.moved.map((x) => ({ ...x, how: 'moved' }))].map(
        (x) =>
          html`<p class="designed">
            <b>${words(x.id)}</b> ${x.how}: ${words(x.part)}${x.mount ? ` at ${words(x.mount)}` : ''}
            <span class="quiet">${x.because}</span>
          </p>`,
      )}
      <details>
        <summary>the bill</summary>
        <table>
          <tbody>
            ${d.bill.map(
              (b) =>
                html`<tr>
                  <td class="figure">${number(b.count)} ${b.unit}</td>
                  <th scope="row">${b.what || words(b.kind)}</th>
                  <td class="figure">${this.money(b.total_minor, currency)}</td>
                </tr>`,
            )}
          </tbody>
        </table>
      </details>
      <div class="form-foot">
        <button type="button" class="main" @click=${() => this.take(true)}>take all of it</button>
        <fieldset class="choose">
          <legend class="unseen">which part of it</legend>
          ${SECTIONS.map(
            (s) =>
              html`<label class="tick"
                ><input
                  type="checkbox"
                  .checked=${this.sections.has(s)}
                  @change=${() => {
                    const next = new Set(this.sections);
                    if (!next.delete(s)) next.add(s);
                    this.sections = next;
                  }}
                />${words(s)}</label
              >`,
          )}
          <button type="button" ?disabled=${!this.sections.size} @click=${() => this.take(false)}>take these</button>
        </fieldset>
      </div>`;
  }
}
