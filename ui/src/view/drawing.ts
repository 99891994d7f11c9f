import { html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Drawing, DrawnFloor, Vec2 } from '../api/types';
import { axonometryOf, fit, planOf, type Projection, type Window } from '../draw/projection';
import { isWide, Stage, thingsOf, type Size, type Thing } from '../draw/stage';
import type { ToolName } from '../state/look';
import { HouseView } from './base';
import { others } from './fetched';
import { LAYERS } from './layers';
import { isNoted } from './layers/evidence';
import { legend } from './legend';
import { Choose } from './tools/choose';
import { ARROWS, type Board, type Spot, type Tool } from './tools/tool';

/* The drawing on the sheet: its window, its layers, and the tool that pointer and keys are handed to. */

type Makers = typeof import('./tools').MAKERS;

interface Press {
  pointer: number;
  on: Spot; /* where it began, and what lay there */
  window: Window;
  taken: boolean; /* the tool drags what lies there */
  moved: boolean;
}

const NEAR_PX = 4; /* less is no dragging */

@customElement('rt-drawing')
export class DrawingView extends HouseView implements Board {
  @property() kind: 'plan' | 'apart' = 'plan';
  @state() private size: Size = { w: 0, h: 0 };
  @state() private window: Window | null = null; /* null: all of it is shown */
  @state() cross: Vec2 | null = null;
  @state() private headHeight = 0;
  stage: Stage | null = null;
  private tool: Tool = new Choose(this);
  private toolName: ToolName = '';
  private makers: Makers | null = null;
  private press: Press | null = null;
  private over: { spot: Spot; byKeys: boolean } | null = null; /* where the pointer or the cross passed last */
  private inked = 0;
  private readonly touches = new Map<number, Vec2>();
  private spread = 0;
  private shown = '';
  private focusFrom: Element | null = null; /* from there to the drawing, as soon as that is there */
  private readonly watch = new ResizeObserver(([e]) => {
    const box = e.contentRect;
    if (box.width !== this.size.w || box.height !== this.size.h) this.size = { w: box.width, h: box.height };
  });

  connectedCallback(): void {
    super.connectedCallback();
    this.watch.observe(this);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.watch.disconnect();
    this.tool.cancel();
  }

  redraw(): void {
    this.requestUpdate();
  }

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    const shown = `${this.kind}|${this.house.look.floor}`;
    if (shown !== this.shown) {
      this.shown = shown;
      this.window = null;
      this.cross = this.over = null;
      this.tool.cancel();
    }
    const wanted = this.isChanged ? (this.house.look.tool as ToolName) : '';
    if (wanted !== this.toolName) this.take(wanted);
    this.lookAgain();
  }

  /* The lines of a picture have been read since: what rests near one falls on it without being moved. */
  private lookAgain(): void {
    const { inked } = this.house.pictures;
    if (inked !== this.inked && this.over && !this.press) this.tool.hover(this.over.spot, this.over.byKeys);
    this.inked = inked;
  }

  private pass(spot: Spot, byKeys: boolean): void {
    this.over = { spot, byKeys };
    this.tool.hover(spot, byKeys);
  }

  /* The tool; those that draw are fetched with the first of them. */
  private take(wanted: ToolName): void {
    if (wanted && !this.makers) {
      void others.get().then(
        ({ MAKERS }) => {
          this.makers = MAKERS;
          this.requestUpdate();
        },
        () => {
          this.house.set({ tool: '' });
          this.house.say('That tool could not be fetched from the program: it was stopped, or is busy');
        },
      );
      return;
    }
    this.tool.cancel();
    this.toolName = wanted;
    this.headHeight = 0;
    this.tool = new (this.makers?.[wanted] ?? Choose)(this);
    this.cross = this.over = null;
    if (wanted) this.focusDrawing();
  }

  private floor(d: Drawing): DrawnFloor {
    return d.floors.find((f) => f.id === this.house.look.floor) ?? d.floors[0];
  }

  /* ---- rendering ---- */

  render(): TemplateResult {
    const d = this.house.drawing;
    if (!d) {
      const why = this.house.drawingTrouble;
      return html`<p class="quiet in-sheet">${why || 'The drawing is being made.'}</p>`;
    }
    if (!d.floors.length)
      return html`<div class="in-sheet">
        <p class="lead">There is nothing to draw yet: the house has no floor.</p>
        <p><a href="#" @click=${this.begin}>Draw the first floor</a></p>
      </div>`;
    if (!this.size.w) return html``; /* not laid out yet: it is drawn once, when it is */
    const s = this.prepare(d);
    return html`<svg
        class="house ${s.moving ? 'is-moving' : ''} ${this.toolName ? 'is-drawing' : ''}"
        width=${this.size.w || 10}
        height=${this.size.h || 10}
        tabindex="0"
        role="application"
        aria-roledescription="drawing"
        aria-label=${
          s.apart
            ? `${d.name}, floors apart. Plus and minus zoom, arrow keys move the sheet.`
            : `Plan of ${s.floor.name}. Arrow keys move a cross, with Control by small steps; Enter ${this.toolName ? 'sets a point' : 'listens'} there; plus and minus zoom, 0 shows all, Shift with arrows moves the sheet.`
        }
        @wheel=${this.onWheel}
        @pointerdown=${this.onDown}
        @pointermove=${this.onMove}
        @pointerup=${this.onUp}
        @pointercancel=${this.onUp}
        @keydown=${this.onKey}
      >
        ${LAYERS.map((draw) => draw(s) ?? nothing)} ${this.tool.layer(s) ?? nothing}
      </svg>
      ${this.toolHead()} ${legend(this.house)}
      <div class="zoom" role="group" aria-label="Size of the drawing">
        <button type="button" aria-label="larger" @click=${() => this.zoom(1.3)}>+</button>
        <button type="button" aria-label="smaller" @click=${() => this.zoom(1 / 1.3)}>−</button>
        <button type="button" @click=${() => (this.window = null)}>all</button>
      </div>`;
  }

  private prepare(d: Drawing): Stage {
    const floor = this.floor(d);
    const apart = this.kind === 'apart';
    const projection: Projection = apart ? axonometryOf(d, 35) : planOf(d, [floor]);
    const wide = isWide(this.size);
    const noted = isNoted(this.house, apart ? null : floor, this.size);
    const margins: [number, number, number, number] = wide
      ? [
          apart ? 110 : 40,
          Math.max(this.isChanged ? 76 : 34, this.headHeight),
          noted ? 280 : apart ? 60 : 40,
          apart ? 60 : 104,
        ]
      : [apart ? 72 : 14, Math.max(this.isChanged ? 60 : 12, this.headHeight), apart ? 44 : 46, apart ? 44 : 92];
    const w = this.window ?? fit(projection.bounds, this.size.w, this.size.h, ...margins);
    this.stage = new Stage(this.house, d, floor, this.kind, this.size, projection, w);
    this.stage.moving = this.tool.moving;
    this.stage.cross = this.cross;
    return this.stage;
  }

  private begin = (e: Event): void => {
    e.preventDefault();
    this.house.set({ side: 'change', section: 'floors', item: '+' });
  };

  /* ---- the tool's head ---- */

  private get isChanged(): boolean {
    return this.kind === 'plan' && this.house.look.side === 'change';
  }

  private toolHead(): TemplateResult | typeof nothing {
    const says = this.isChanged ? this.tool.says() : '';
    const head = this.isChanged ? this.tool.head() : null;
    if (!says && !head) return nothing;
    return html`<div class="tool-head" role="group" aria-label="How it is drawn">
      ${says ? html`<p class="tool-says" aria-live="polite">${says}</p>` : nothing} ${head ?? nothing}
    </div>`;
  }

  /* The house begins below the head; it does not jump while the head's words change. */
  protected updated(): void {
    const high = (this.querySelector<HTMLElement>('.tool-head')?.offsetHeight ?? 0) + 14;
    if (high > this.headHeight) this.headHeight = high;
    const from = this.focusFrom;
    const house = from ? this.querySelector<SVGElement>('svg.house') : null;
    if (!house) return;
    this.focusFrom = null;
    const now = document.activeElement;
    if (now === from || now === document.body || this.contains(now)) house.focus();
  }

  focusHead(): void {
    this.focusFrom = null;
    void this.updateComplete.then(() => this.querySelector<HTMLElement>('.tool-head [data-first]')?.focus());
  }

  focusDrawing(): void {
    this.focusFrom = document.activeElement;
    this.requestUpdate();
  }

  /* ---- the window ---- */

  private zoom(factor: number, at?: Vec2): void {
    const w = this.stage?.w;
    if (!w) return;
    const [x, y] = at ?? [this.size.w / 2, this.size.h / 2];
    const scale = Math.min(Math.max(w.scale * factor, 4), 900);
    const k = scale / w.scale;
    this.window = { scale, x: x - (x - w.x) * k, y: y - (y - w.y) * k };
  }

  private shift(dx: number, dy: number): void {
    const w = this.stage?.w;
    if (w) this.window = { ...w, x: w.x + dx, y: w.y + dy };
  }

  private onWheel = (e: WheelEvent): void => {
    e.preventDefault();
    this.zoom(Math.exp(-e.deltaY / 500), this.local(e));
  };

  /* ---- the pointer ---- */

  private local(e: { clientX: number; clientY: number }): Vec2 {
    const box = this.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  private thingOf(element: Element | null): Thing | null {
    const path = element?.closest('.things [data-path]')?.getAttribute('data-path');
    const d = this.house.drawing;
    if (!path || !d) return null;
    return thingsOf(d).find((t) => t.path === path) ?? null;
  }

  private spot(e: PointerEvent): Spot {
    const screen = this.local(e);
    const element = e.target as Element | null;
    const path = element?.closest?.('[data-path]')?.getAttribute('data-path') ?? '';
    return {
      at: this.stage?.metres(screen) ?? [0, 0],
      screen,
      thing: this.thingOf(element),
      path,
      element,
      fine: e.shiftKey,
    };
  }

  private onDown = (e: PointerEvent): void => {
    const at = this.local(e);
    this.touches.set(e.pointerId, at);
    if (this.touches.size === 2) {
      const [a, b] = [...this.touches.values()];
      this.spread = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (this.press?.taken) this.tool.cancel();
      this.press = null;
      return;
    }
    if (e.button !== 0 || !this.stage) return;
    (e.currentTarget as SVGSVGElement).setPointerCapture(e.pointerId);
    const on = this.spot(e);
    this.press = { pointer: e.pointerId, on, window: this.stage.w, taken: this.tool.take(on), moved: false };
  };

  private onMove = (e: PointerEvent): void => {
    const at = this.local(e);
    if (this.touches.has(e.pointerId)) this.touches.set(e.pointerId, at);
    if (this.touches.size === 2) {
      const [a, b] = [...this.touches.values()];
      const spread = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (this.spread > 0) this.zoom(spread / this.spread, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
      this.spread = spread;
      return;
    }
    const press = this.press;
    if (!press || press.pointer !== e.pointerId) {
      if (!press) this.pass(this.spot(e), false);
      return;
    }
    const [dx, dy] = [at[0] - press.on.screen[0], at[1] - press.on.screen[1]];
    if (!press.moved && Math.hypot(dx, dy) < NEAR_PX) return;
    press.moved = true;
    if (press.taken) this.tool.drag(this.spot(e));
    else this.window = { ...press.window, x: press.window.x + dx, y: press.window.y + dy };
  };

  private onUp = (e: PointerEvent): void => {
    this.touches.delete(e.pointerId);
    this.spread = 0;
    const press = this.press;
    if (!press || press.pointer !== e.pointerId) return;
    this.press = null;
    if (e.type === 'pointercancel') {
      if (press.taken) this.tool.cancel();
    } else if (!press.moved) this.tool.tap(press.on);
    else if (press.taken) this.tool.drop(this.spot(e));
  };

  /* ---- keys ---- */

  private onKey = (e: KeyboardEvent): void => {
    if (e.metaKey || e.altKey || (e.ctrlKey && !ARROWS[e.key])) return;
    const onDrawing = e.target === e.currentTarget;
    const done = this.tool.key(e, this.thingOf(e.target as Element)) || (onDrawing && this.ownKey(e));
    if (!done) return;
    e.preventDefault();
    e.stopPropagation();
  };

  private ownKey(e: KeyboardEvent): boolean {
    const step = ARROWS[e.key];
    if (step && (e.shiftKey || this.kind === 'apart')) this.shift(-step[0] * 60, step[1] * 60);
    else if (step) this.moveCross(step, e.ctrlKey ? 0.05 : this.tool.step_m);
    else if (e.key === 'Enter' && this.cross) this.tool.tap(this.crossSpot(this.cross));
    else if (e.key === '+' || e.key === '=') this.zoom(1.3);
    else if (e.key === '-') this.zoom(1 / 1.3);
    else if (e.key === '0') this.window = null;
    else if (e.key === 'Escape') {
      if (this.tool.cancel()) return true;
      this.cross = null;
      if (this.toolName) this.house.set({ tool: '' });
      else this.house.forgetSpot();
    } else return false;
    return true;
  }

  private crossSpot(at: Vec2, small = false): Spot {
    const screen = this.stage?.onPlan(at) ?? [0, 0];
    return { at, screen, thing: null, path: '', element: null, fine: small };
  }

  private moveCross(step: Vec2, far: number): void {
    const middle = this.stage?.metres([this.size.w / 2, this.size.h / 2]) ?? [0, 0];
    const at = this.cross ?? [Math.round(middle[0] * 4) / 4, Math.round(middle[1] * 4) / 4];
    this.cross = [at[0] + step[0] * far, at[1] + step[1] * far];
    this.pass(this.crossSpot(this.cross, far < 0.1), true);
  }
}
