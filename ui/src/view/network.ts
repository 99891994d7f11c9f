import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { getJson, Refused } from '../api/client';
import { number, words } from '../units';
import { HouseView } from './base';

/* The network in rows: every port with where it leads, and who may begin to talk with whom. */

/* What one question about the present revision is answered with. */
export abstract class Told<T> extends HouseView {
  @state() protected told: T | null = null;
  @state() private trouble = '';
  private of = '';
  protected abstract readonly asks: string;

  protected updated(): void {
    const wanted = `${this.house.path}@${this.house.state}`;
    if (wanted === this.of) return;
    this.of = wanted;
    void this.read();
  }

  private async read(): Promise<void> {
    const of = this.of;
    try {
      const { body } = await getJson<T>(`${this.house.path}/${this.asks}`);
      if (of !== this.of) return;
      this.told = body;
      this.trouble = '';
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.told = null;
      this.trouble = [e.message, e.problems[0]?.hint].filter(Boolean).join('; ');
    }
  }

  render(): TemplateResult {
    if (!this.told) return html`<p class="quiet in-sheet" role="status">${this.trouble || 'One moment.'}</p>`;
    return html`<div class="in-sheet">${this.rows(this.told)}</div>`;
  }

  protected abstract rows(told: T): TemplateResult;
}

/* ---- ports ---- */

interface PortSegment {
  segment: string;
  vlan: number;
}
interface Port {
  equipment: string;
  port: number;
  plug: string;
  port_mbps: number | null;
  mode: string;
  cable: string;
  leads_to: string;
  leads_to_words: string;
  leads_to_room: string;
  untagged: PortSegment | null;
  tagged: PortSegment[];
  rests: boolean;
  link_mbps: number | null;
  class_granted: number | null;
  drawn_w: number | null;
}

const speed = (mbps: number | null): string =>
  mbps === null ? '·' : mbps >= 1000 ? `${number(mbps / 1000)} Gb/s` : `${number(mbps, 0)} Mb/s`;
const segment = (s: PortSegment): string => `${words(s.segment)} (${s.vlan})`;

@customElement('rt-ports')
export class PortsView extends Told<{ ports: Port[] }> {
  protected readonly asks = 'ports';

  protected rows({ ports }: { ports: Port[] }): TemplateResult {
    const things = [...new Set(ports.map((p) => p.equipment))];
    if (!things.length) return html`<p class="lead">The house has no equipment with ports yet.</p>`;
    return html`${things.map((t) => {
      const of = ports.filter((p) => p.equipment === t);
      const free = of.filter((p) => !p.cable && !p.leads_to).length;
      return html`<h3>${words(t)} <span class="quiet">${of.length} ports, ${free} free</span></h3>
        <div class="table-place" tabindex="0" role="region" aria-label=${`ports of ${words(t)}`}>
          <table class="wide-table ports">
            <thead>
              <tr>
                <th scope="col">port</th>
                <th scope="col">leads to</th>
                <th scope="col">cable</th>
                <th scope="col">carries</th>
                <th scope="col">link</th>
                <th scope="col">power</th>
              </tr>
            </thead>
            <tbody>
              ${of.map((p) => this.port(p))}
            </tbody>
          </table>
        </div>`;
    })}`;
  }

  private port(p: Port): TemplateResult {
    const carries = [
      p.untagged ? segment(p.untagged) : '',
      p.tagged.length ? `tagged: ${p.tagged.map(segment).join(', ')}` : '',
    ].filter(Boolean);
    return html`<tr>
      <th scope="row">${p.port} <span class="quiet">${speed(p.port_mbps)}</span></th>
      <td>
        ${p.leads_to ? p.leads_to_words || words(p.leads_to) : html`<span class="quiet">free</span>`}${
          p.leads_to_room ? html`<span class="quiet">, ${p.leads_to_room}</span>` : nothing
        }${p.rests ? html`<span class="quiet">, rests</span>` : nothing}
      </td>
      <td>${p.cable}</td>
      <td class="long">${carries.join('; ') || p.mode}</td>
      <td class="figure">${p.link_mbps === null ? '·' : speed(p.link_mbps)}</td>
      <td class="figure">
        ${p.drawn_w === null ? '·' : `${number(p.drawn_w)} W${p.class_granted === null ? '' : `, class ${p.class_granted}`}`}
      </td>
    </tr>`;
  }
}

/* ---- who may talk ---- */

interface Cell {
  from: string;
  to: string;
  family: string;
  verdict: string;
  services: string[];
  hours: string[];
}
interface Proof {
  rules: number;
  matrix: Cell[];
  findings: { kind: string; because: string }[];
  notes: { line: number; says: string }[];
}

@customElement('rt-matrix')
export class MatrixView extends Told<Proof> {
  protected readonly asks = 'matrix';

  protected rows(m: Proof): TemplateResult {
    const ends = [...new Set(m.matrix.flatMap((c) => [c.from, c.to]))];
    const cell = (from: string, to: string): Cell[] => m.matrix.filter((c) => c.from === from && c.to === to);
    return html`<p class="lead">Who may begin to talk with whom, proven for every packet.</p>
      <div class="table-place" tabindex="0" role="region" aria-label="who may begin to talk with whom">
        <table class="matrix">
          <thead>
            <tr>
              <th scope="col">from \\ to</th>
              ${ends.map((e) => html`<th scope="col">${words(e)}</th>`)}
            </tr>
          </thead>
          <tbody>
            ${ends.map(
              (from) =>
                html`<tr>
                  <th scope="row">${words(from)}</th>
                  ${ends.map((to) => {
                    const cells = cell(from, to);
                    const isLong = cells.some((c) => c.services.length > 3);
                    return html`<td class=${isLong ? 'is-long' : ''}>${said(cells)}</td>`;
                  })}
                </tr>`,
            )}
          </tbody>
        </table>
      </div>
      ${
        m.notes.length
          ? html`<h3>To be known</h3>
              <ul class="plain">
                ${m.notes.map((n) => html`<li>${n.says}</li>`)}
              </ul>`
          : nothing
      }
      <p class="quiet">${m.rules} rules; ${m.findings.length} remarks on them are told by \`rooftree prove\`.</p>`;
  }
}

/* Both versions of IP as one where they agree. */
function said(cells: Cell[]): TemplateResult | string {
  if (!cells.length) return '·';
  const one = (c: Cell): string =>
    [c.verdict, c.services.map(words).join(', '), c.hours.map(words).join(', ')].filter(Boolean).join(': ');
  const all = [...new Set(cells.map(one))];
  return all.length === 1
    ? all[0]
    : html`${cells.map((c) => html`<span class="line"><span class="quiet">${c.family}</span> ${one(c)}</span>`)}`;
}
