import { html, nothing, svg, type TemplateResult, type SVGTemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Drawing, DrawnDevice, DrawnEquipment, DrawnFloor, DrawnMount, Vec2, Vec3 } from '../api/types';
import { drawApart } from '../draw/apart';
import { cividisCss } from '../draw/colour';
import { SCALES, valueAt } from '../draw/field';
import { drawPlan, northArrow, scaleBar } from '../draw/plan';
import { axonometryOf, fit, planOf, toScreen, type Axonometry, type Projection, type Window } from '../draw/projection';
import { diamond, inside, note, path, wrap } from '../draw/shapes';
import { moveEdits } from '../state/move';
import { settings } from '../state/settings';
import { length, number, perMetre, words } from '../units';
import { HouseView } from './base';

/* The drawing on the sheet: plan or floors apart, what stands in it, and what was asked of it. */

type Thing = DrawnEquipment | DrawnDevice | DrawnMount;
interface Moving {
  thing: Thing;
  at: Vec2;
  pointer: number; /* -1: by keys */
}

@customElement('rt-drawing')
export class DrawingView extends HouseView {
  @property() kind: 'plan' | 'apart' = 'plan';
  @state() private size = { w: 0, h: 0 };
  @state() private window: Window | null = null; /* null: all of it is shown */
  @state() private moving: Moving | null = null;
  @state() private cross: Vec2 | null = null;
  private pan: { pointer: number; x: number; y: number; from: Window; moved: boolean } | null = null;
  private readonly touches = new Map<number, Vec2>();
  private spread = 0;
  private readonly watch = new ResizeObserver(([e]) => {
    const box = e.contentRect;
    if (box.width !== this.size.w || box.height !== this.size.h) this.size = { w: box.width, h: box.height };
  });
  private floorShown = '';

  connectedCallback(): void {
    super.connectedCallback();
    this.watch.observe(this);
  }

  disconnectedCallback(): void {
    super.disconnectedCallback();
    this.watch.disconnect();
  }

  protected willUpdate(changed: Map<PropertyKey, unknown>): void {
    super.willUpdate(changed);
    const shown = `${this.kind}|${this.house?.look.floor}`;
    if (shown !== this.floorShown) {
      this.floorShown = shown;
      this.window = null;
      this.moving = null;
      this.cross = null;
    }
  }

  private get floor(): DrawnFloor | undefined {
    const d = this.house.drawing;
    return d?.floors.find((f) => f.id === this.house.look.floor) ?? d?.floors[0];
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
    const floor = this.floor as DrawnFloor;
    const apart = this.kind === 'apart';
    const projection: Projection = apart ? axonometryOf(d, 35) : planOf(d, [floor]);
    const wide = this.size.w > 760;
    const noted = wide && !!this.witness(d, floor);
    const margins: [number, number, number, number] = wide
      ? [apart ? 110 : 40, 34, noted ? 280 : apart ? 60 : 40, apart ? 60 : 104]
      : [apart ? 88 : 14, 12, apart ? 30 : 46, apart ? 44 : 78];
    const w = this.window ?? fit(projection.bounds, this.size.w, this.size.h, ...margins);
    this.current = { w, projection };
    return html`<svg
        class="house ${this.moving ? 'is-moving' : ''}"
        width=${this.size.w || 10}
        height=${this.size.h || 10}
        tabindex="0"
        role="application"
        aria-roledescription="drawing"
        aria-label=${
          apart
            ? `${d.name}, floors apart. Plus and minus zoom, arrow keys move the sheet.`
            : `Plan of ${floor.name}. Arrow keys move a cross, Enter listens there; plus and minus zoom, 0 shows all, Shift with arrows moves the sheet.`
        }
        @wheel=${this.onWheel}
        @pointerdown=${this.onDown}
        @pointermove=${this.onMove}
        @pointerup=${this.onUp}
        @pointercancel=${this.onUp}
        @keydown=${this.onKey}
      >
        ${
          apart
            ? drawApart({ d, a: projection as Axonometry, w, fields: this.house.fields, chosen: this.house.chosenPath })
            : drawPlan({
                d,
                floor,
                w,
                field: this.house.fields.get(floor.id) ?? null,
                contours: this.house.contours.get(floor.id) ?? [],
                chosen: this.house.chosenPath,
              })
        }
        ${this.things(d, floor, w, projection)} ${this.paths(d, floor, w, projection)}
        ${noted ? this.evidence(d, floor, w, projection) : this.evidenceSpot(d, floor, w, projection)}
        ${apart || !this.cross ? nothing : this.crossShape(w)} ${apart ? nothing : this.margin(d)}
      </svg>
      ${this.legend()}
      <div class="zoom" role="group" aria-label="Size of the drawing">
        <button type="button" aria-label="larger" @click=${() => this.zoom(1.3)}>+</button>
        <button type="button" aria-label="smaller" @click=${() => this.zoom(1 / 1.3)}>−</button>
        <button type="button" @click=${() => (this.window = null)}>all</button>
      </div>`;
  }

  private current: { w: Window; projection: Projection } | null = null;

  private begin = (e: Event): void => {
    e.preventDefault();
    this.house.set({ side: 'change', section: 'floors', item: '+' });
  };

  private margin(d: Drawing): SVGTemplateResult {
    const per = (this.current?.w.scale ?? 1) / perMetre(settings.unit);
    return svg`${scaleBar(per, settings.unit, 34, this.size.h - 66)}
      ${d.north_deg === null ? null : northArrow(d.north_deg, this.size.w - 34, 40)}`;
  }

  private at(thing: Thing): Vec3 | null {
    if (this.moving && this.moving.thing.id === thing.id && this.moving.thing.path === thing.path && thing.at)
      return [this.moving.at[0], this.moving.at[1], thing.at[2]];
    if (this.moving && 'mount' in thing && this.moving.thing.path === `/mounts/${thing.mount}` && thing.at)
      return [this.moving.at[0], this.moving.at[1], thing.at[2]];
    return thing.at;
  }

  private things(d: Drawing, floor: DrawnFloor, w: Window, p: Projection): SVGTemplateResult {
    const apart = this.kind === 'apart';
    const here = (t: Thing): boolean => t.at !== null && (apart || t.floor === floor.id);
    const flat = apart ? 0.55 : 1;
    const place = (t: Thing): Vec2 => {
      const q = this.at(t) as Vec3;
      return toScreen(w, p.paper(q[0], q[1], q[2], t.floor));
    };
    const foot = (t: Thing): Vec2 => {
      const q = this.at(t) as Vec3;
      const f = d.floors.find((x) => x.id === t.floor);
      return toScreen(w, p.paper(q[0], q[1], f?.z_m ?? q[2], t.floor));
    };
    const marked = this.house.marked;
    const row = new Map<string, number>();
    /* those of a room that stand anywhere lie in a row below its name */
    const lie = (v: DrawnDevice, at: Vec2): Vec2 => {
      if (v.has_place || this.moving?.thing.path === v.path) return at;
      const room = v.room ?? '';
      const i = row.get(room) ?? 0;
      row.set(room, i + 1);
      return [at[0] + ((i % 5) - 2) * 11, at[1] + 16 + Math.floor(i / 5) * 11];
    };
    return svg`<g class="things">
      ${
        apart
          ? null
          : d.mounts
              .filter((m) => here(m) && !m.holds)
              .map((m) => {
                const [x, y] = place(m);
                return svg`<g class="mount" data-path=${m.path} tabindex="0" role="button" aria-label=${`mount ${words(m.id)}`}
                @keydown=${(e: KeyboardEvent) => this.onThingKey(e, m)}>
                <circle class="hit" cx=${x} cy=${y} r="11"></circle>
                <path d=${`M${x - 4} ${y}H${x + 4}M${x} ${y - 4}V${y + 4}`}></path></g>`;
              })
      }
      ${d.devices
        .filter((v) => here(v) && (!apart || marked.has(v.id)))
        .map((v) => {
          const [x, y] = lie(v, place(v));
          const chosen = this.house.chosenPath === v.path;
          const told = chosen || marked.has(v.id) || (v.has_place && w.scale > 95);
          return svg`<g class=${`device${chosen ? ' is-chosen' : ''}${marked.has(v.id) ? ' is-marked' : ''}${v.has_place ? '' : ' is-anywhere'}`}
          data-path=${v.path} tabindex=${chosen ? 0 : -1} role="button" aria-label=${`device ${v.says || words(v.id)}`}
          @keydown=${(e: KeyboardEvent) => this.onThingKey(e, v)}>
          <circle class="hit" cx=${x} cy=${y} r="10"></circle>
          <circle class="dot" cx=${x} cy=${y} r=${chosen ? 5 : 3.2}></circle>
          ${told ? svg`<text class="tag" x=${x + 8} y=${y + 4}>${v.says || words(v.id)}</text>` : null}</g>`;
        })}
      ${d.equipment
        .filter((e) => here(e) && !e.inside)
        .map((e) => {
          const [x, y] = place(e);
          const chosen =
            this.house.chosenPath === e.path || (e.mount && this.house.chosenPath === `/mounts/${e.mount}`);
          const cls = `equipment${chosen ? ' is-chosen' : ''}${marked.has(e.id) ? ' is-marked' : ''}`;
          const ap = e.radios.length > 0 || e.kind === 'access_point';
          const end = foot(e);
          return svg`<g class=${cls} data-path=${e.path} tabindex="0" role="button"
          aria-label=${`${ap ? 'access point' : words(e.kind)} ${words(e.id)}${e.says ? `, ${e.says}` : ''}`}
          @keydown=${(k: KeyboardEvent) => this.onThingKey(k, e)}>
          ${apart ? svg`<path class="drop" d=${path([[x, y], end])}></path>` : null}
          <circle class="hit" cx=${x} cy=${y} r="13"></circle>
          ${
            ap
              ? svg`<path class="access-point" d=${diamond([x, y], 8, flat)}></path>`
              : svg`<rect class="box" x=${x - 5} y=${y - 5} width="10" height="10"></rect>`
          }
          <text class="tag" x=${x + 12} y=${y + 4}>${words(e.id)}</text></g>`;
        })}</g>`;
  }

  /* The paths to the spot that was asked about. */
  private paths(d: Drawing, floor: DrawnFloor, w: Window, p: Projection): SVGTemplateResult | null {
    const spot = this.house.spot;
    if (!spot || (this.kind === 'plan' && spot.floor !== floor.id)) return null;
    const f = d.floors.find((x) => x.id === spot.floor);
    const z = (f?.z_m ?? 0) + 1.2;
    const end = toScreen(w, p.paper(spot.at[0], spot.at[1], z, spot.floor));
    const first = this.house.report?.access_points ?? [];
    return svg`<g class="rays">
      ${first.slice(0, 4).map((heard, i) => {
        const from = d.equipment.find((e) => e.id === heard.id);
        if (!from?.at) return null;
        const start = toScreen(
          w,
          p.paper(from.at[0], from.at[1], from.at[2], this.kind === 'apart' ? from.floor : spot.floor),
        );
        const rays = heard.paths.filter((r) => r.points?.length);
        return rays.length
          ? rays.map(
              (r, k) =>
                svg`<path class=${i || k ? 'ray' : 'ray is-best'} d=${path((r.points as Vec3[]).map((q) => toScreen(w, p.paper(q[0], q[1], q[2], spot.floor))))}></path>`,
            )
          : svg`<path class=${i ? 'ray' : 'ray is-best'} d=${path([start, end])}></path>`;
      })}
      <circle class="asked-spot" cx=${end[0]} cy=${end[1]} r="6"></circle>
      <circle class="asked-spot-dot" cx=${end[0]} cy=${end[1]} r="1.5"></circle></g>`;
  }

  private witness(d: Drawing, floor: DrawnFloor): { floor: string; at: Vec3; where: string } | null {
    const worst = this.house.chosen?.evidence.worst_spot as { floor: string; at_m: Vec3; where: string } | undefined;
    if (!worst?.at_m) return null;
    if (this.kind === 'plan' && worst.floor !== floor.id) return null;
    const f = d.floors.find((x) => x.id === worst.floor);
    return {
      floor: worst.floor,
      at: [worst.at_m[0], worst.at_m[1], worst.at_m[2] + (f?.z_m ?? 0)],
      where: worst.where,
    };
  }

  private evidence(d: Drawing, floor: DrawnFloor, w: Window, p: Projection): SVGTemplateResult | null {
    const spot = this.witness(d, floor);
    const chosen = this.house.chosen;
    if (!spot || !chosen) return null;
    const at = toScreen(w, p.paper(spot.at[0], spot.at[1], spot.at[2], spot.floor));
    const x = Math.min(Math.max(at[0] + 90, this.size.w - 268), this.size.w - 240);
    const y = Math.min(Math.max(at[1] - 40, 60), this.size.h - 190);
    const margin = chosen.margin === null ? '' : `${number(chosen.margin)} ${chosen.unit}`;
    const head = chosen.state === 'broken' ? `short by ${margin.replace('−', '')}` : `in hand: ${margin}`;
    return note(at, [x, y], head, wrap(chosen.reason, 38, 7), chosen.state === 'broken');
  }

  private evidenceSpot(d: Drawing, floor: DrawnFloor, w: Window, p: Projection): SVGTemplateResult | null {
    const spot = this.witness(d, floor);
    if (!spot) return null;
    const [x, y] = toScreen(w, p.paper(spot.at[0], spot.at[1], spot.at[2], spot.floor));
    return svg`<g class=${this.house.chosen?.state === 'broken' ? 'note is-broken' : 'note'}>
      <circle class="spot" cx=${x} cy=${y} r="7"></circle></g>`;
  }

  private crossShape(w: Window): SVGTemplateResult {
    const [x, y] = toScreen(w, [(this.cross as Vec2)[0], -(this.cross as Vec2)[1]]);
    return svg`<path class="cross" d=${`M${x - 12} ${y}H${x - 3}M${x + 3} ${y}H${x + 12}M${x} ${y - 12}V${y - 3}M${x} ${y + 3}V${y + 12}`}></path>`;
  }

  private legend(): TemplateResult | typeof nothing {
    const look = this.house.look;
    if (look.quantity === 'none') return nothing;
    if (this.house.fieldTrouble) return html`<p class="legend quiet">${this.house.fieldTrouble}</p>`;
    if (!this.house.fields.size)
      return this.house.fieldsComing ? html`<p class="legend quiet">The field is being computed.</p>` : nothing;
    const scale = SCALES[look.quantity];
    const share = (v: number): number => (v - scale.from) / (scale.to - scale.from);
    const wide = 180;
    return html`<svg
      class="legend"
      width="236"
      height="32"
      role="img"
      aria-label=${`Scale of the ${scale.name}: dark is ${scale.from}, light is ${scale.to} ${scale.unit}`}
    >
      ${Array.from({ length: 60 }, (_, i) => svg`<rect x=${8 + (i * wide) / 60} y="0" width=${wide / 60 + 0.4} height="9" fill=${cividisCss((i + 0.5) / 60)}></rect>`)}
      ${scale.ticks.map(
        (t, i) => svg`<path class="tick" d=${`M${8 + share(t) * wide} 9v4`}></path>
          <text x=${8 + share(t) * wide} y="25" text-anchor=${i === scale.ticks.length - 1 ? 'start' : 'middle'}
            dx=${i === scale.ticks.length - 1 ? -10 : 0}>${number(t, 0)}${i === scale.ticks.length - 1 ? ` ${scale.unit}` : ''}</text>`,
      )}
    </svg>`;
  }

  /* ---- the window ---- */

  private zoom(factor: number, at?: Vec2): void {
    const w = this.current?.w;
    if (!w) return;
    const [x, y] = at ?? [this.size.w / 2, this.size.h / 2];
    const scale = Math.min(Math.max(w.scale * factor, 4), 900);
    const k = scale / w.scale;
    this.window = { scale, x: x - (x - w.x) * k, y: y - (y - w.y) * k };
  }

  private shift(dx: number, dy: number): void {
    const w = this.current?.w;
    if (w) this.window = { ...w, x: w.x + dx, y: w.y + dy };
  }

  private local(e: { clientX: number; clientY: number }): Vec2 {
    const box = this.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  private metres([x, y]: Vec2): Vec2 {
    const w = this.current?.w as Window;
    return [(x - w.x) / w.scale, -(y - w.y) / w.scale];
  }

  private onWheel = (e: WheelEvent): void => {
    e.preventDefault();
    this.zoom(Math.exp(-e.deltaY / 500), this.local(e));
  };

  private thingOf(target: EventTarget | null): Thing | null {
    const path = (target as Element | null)?.closest?.('.things [data-path]')?.getAttribute('data-path');
    const d = this.house.drawing;
    if (!path || !d) return null;
    return [...d.equipment, ...d.devices, ...d.mounts].find((t) => t.path === path) ?? null;
  }

  private onDown = (e: PointerEvent): void => {
    const svg = e.currentTarget as SVGSVGElement;
    const at = this.local(e);
    this.touches.set(e.pointerId, at);
    if (this.touches.size === 2) {
      const [a, b] = [...this.touches.values()];
      this.spread = Math.hypot(a[0] - b[0], a[1] - b[1]);
      this.pan = null;
      this.moving = null;
      return;
    }
    if (e.button !== 0) return;
    svg.setPointerCapture(e.pointerId);
    const thing = this.thingOf(e.target);
    const w = this.current?.w;
    if (!w) return;
    this.pan = { pointer: e.pointerId, x: at[0], y: at[1], from: w, moved: false };
    if (thing?.at && this.kind === 'plan')
      this.moving = { thing, at: [thing.at[0], thing.at[1]], pointer: e.pointerId };
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
    const pan = this.pan;
    if (!pan || pan.pointer !== e.pointerId) return;
    if (!pan.moved && Math.hypot(at[0] - pan.x, at[1] - pan.y) < 4) return;
    pan.moved = true;
    if (this.moving) {
      this.moving = { ...this.moving, at: this.metres(at) };
      this.preview();
    } else this.window = { ...pan.from, x: pan.from.x + at[0] - pan.x, y: pan.from.y + at[1] - pan.y };
  };

  private onUp = (e: PointerEvent): void => {
    this.touches.delete(e.pointerId);
    this.spread = 0;
    const pan = this.pan;
    if (!pan || pan.pointer !== e.pointerId) return;
    this.pan = null;
    const moving = this.moving;
    if (e.type === 'pointercancel') {
      this.moving = null;
      return;
    }
    if (pan.moved) {
      if (moving) void this.drop(moving);
      return;
    }
    this.moving = null;
    if (moving) return this.choose(moving.thing.path);
    const path = (e.target as Element | null)?.closest?.('[data-path]')?.getAttribute('data-path');
    if (this.kind === 'apart') {
      if (path) this.choose(path);
      return;
    }
    if (this.house.look.side === 'change' && path && (e.target as Element).closest('.wall')) return this.choose(path);
    const floor = this.floor as DrawnFloor;
    const spot = this.metres(this.local(e));
    this.cross = null;
    if (this.house.look.side === 'change' && path) return this.choose(path);
    if (inside(floor.outline, spot)) void this.house.listen(floor.id, spot);
  };

  private choose(path: string): void {
    const [, section, item] = path.split('/');
    this.house.set({ side: 'change', section, item: decodeURIComponent(item ?? '') });
  }

  private onKey = (e: KeyboardEvent): void => {
    if (e.target !== e.currentTarget || e.ctrlKey || e.metaKey || e.altKey) return;
    const arrows: Record<string, Vec2> = {
      ArrowLeft: [-1, 0],
      ArrowRight: [1, 0],
      ArrowUp: [0, 1],
      ArrowDown: [0, -1],
    };
    const step = arrows[e.key];
    if (step) {
      e.preventDefault();
      if (e.shiftKey || this.kind === 'apart') return this.shift(-step[0] * 60, step[1] * 60);
      const middle = this.metres([this.size.w / 2, this.size.h / 2]);
      const at = this.cross ?? middle;
      this.cross = [at[0] + step[0] * 0.25, at[1] + step[1] * 0.25];
      const room = this.house.drawing?.rooms.find(
        (r) => r.floor === this.floor?.id && inside(r.outline, this.cross as Vec2),
      );
      const g = this.house.fields.get(this.floor?.id ?? '');
      const v = g ? valueAt(g, this.cross[0], this.cross[1]) : NaN;
      this.house.say(
        `${room?.name ?? 'outside the rooms'}, ${length(this.cross[0], settings.unit)} by ${length(this.cross[1], settings.unit)}${
          Number.isNaN(v) ? '' : `: ${number(v, 0)} ${SCALES[this.house.look.quantity]?.unit ?? ''}`
        }`,
      );
    } else if (e.key === 'Enter' && this.cross && this.floor) {
      e.preventDefault();
      void this.house.listen(this.floor.id, this.cross);
    } else if (e.key === '+' || e.key === '=') this.zoom(1.3);
    else if (e.key === '-') this.zoom(1 / 1.3);
    else if (e.key === '0') this.window = null;
    else if (e.key === 'Escape') {
      this.cross = null;
      this.house.forgetSpot();
    }
  };

  /* Arrow keys move a thing, Enter keeps the place, Escape takes it back. */
  private onThingKey(e: KeyboardEvent, thing: Thing): void {
    const arrows: Record<string, Vec2> = {
      ArrowLeft: [-1, 0],
      ArrowRight: [1, 0],
      ArrowUp: [0, 1],
      ArrowDown: [0, -1],
    };
    const step = arrows[e.key];
    if (step && thing.at && this.kind === 'plan') {
      e.preventDefault();
      e.stopPropagation();
      const far = e.shiftKey ? 0.5 : 0.1;
      const from: Vec2 = this.moving?.thing.path === thing.path ? this.moving.at : [thing.at[0], thing.at[1]];
      this.moving = { thing, at: [from[0] + step[0] * far, from[1] + step[1] * far], pointer: -1 };
      this.house.say(
        `${words(thing.id)} at ${number(this.moving.at[0], 2)}, ${number(this.moving.at[1], 2)} m; Enter keeps it`,
      );
      this.preview();
    } else if (e.key === 'Enter' || e.key === ' ') {
      e.preventDefault();
      e.stopPropagation();
      if (this.moving?.thing.path === thing.path) void this.drop(this.moving);
      else this.choose(thing.path);
    } else if (e.key === 'Escape' && this.moving) {
      e.stopPropagation();
      this.moving = null;
      this.house.endPreview();
      this.house.say(`${words(thing.id)} stays where it was`);
    }
  }

  private preview(): void {
    if (this.moving) this.house.preview(this.moving.thing, this.moving.at);
  }

  private async drop(moving: Moving): Promise<void> {
    const made = moveEdits(this.house, moving.thing, moving.at);
    const outcome = await this.house.edit(made.what, made.edits);
    if (this.moving?.thing.path === moving.thing.path) this.moving = null;
    this.house.endPreview();
    if (!outcome.ok) this.house.say(`Not moved: ${outcome.problems[0]?.says ?? 'the place cannot be taken'}`);
  }
}
