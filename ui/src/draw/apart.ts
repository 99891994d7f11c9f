import { svg, type SVGTemplateResult } from 'lit';
import type { Drawing, DrawnFloor, DrawnWall, FieldGrid, Vec2, Vec3 } from '../api/types';
import { pictureOf } from './field';
import { hull, type Names, type Place } from './names';
import { toScreen, type Axonometry, type Window } from './projection';
import { middle, path, points } from './shapes';

/* The house with its floors apart: each floor a tray that one looks into from above. */

export interface ApartParts {
  d: Drawing;
  a: Axonometry;
  w: Window;
  fields: Map<string, FieldGrid>;
  chosen: string;
  size: number; /* of the floors' names */
  names: Names; /* of the sheet */
}

const place = (p: ApartParts, q: Vec3, floor: string | null): Vec2 => toScreen(p.w, p.a.paper(q[0], q[1], q[2], floor));

function drawField(p: ApartParts, f: DrawnFloor): SVGTemplateResult | null {
  const g = p.fields.get(f.id);
  if (!g) return null;
  const [a, b, c, d, e, fy] = p.a.matrix(f, f.z_m);
  const s = p.w.scale;
  /* one unit of the picture is a cell; its first row is the northernmost */
  const k = g.step_m * s;
  const x0 = g.x_m,
    y1 = g.y_m + g.rows * g.step_m;
  const tx = (a * x0 + c * y1 + e) * s + p.w.x,
    ty = (b * x0 + d * y1 + fy) * s + p.w.y;
  return svg`<g clip-path=${`url(#clip-${f.id})`}><image class="field" href=${pictureOf(g)} x="0" y="0" width=${g.columns}
    height=${g.rows} preserveAspectRatio="none" transform=${`matrix(${a * k} ${b * k} ${-c * k} ${-d * k} ${tx} ${ty})`}></image></g>`;
}

function drawWall(p: ApartParts, f: DrawnFloor, w: DrawnWall): SVGTemplateResult[] {
  const out: SVGTemplateResult[] = [];
  for (let i = 0; i + 1 < w.line.length; i++) {
    const foot = (q: Vec2): Vec2 => place(p, [q[0], q[1], f.z_m + Math.max(w.base_m, 0)], f.id);
    const head = (q: Vec2): Vec2 => place(p, [q[0], q[1], f.z_m + Math.min(w.top_m, f.height_m) * 0.5], f.id);
    const [q, r] = [w.line[i], w.line[i + 1]];
    out.push(
      svg`<polygon class=${w.thickness_m > 0.16 ? 'upright is-thick' : 'upright'} data-path=${w.path}
        points=${points([foot(q), foot(r), head(r), head(q)])}></polygon>`,
    );
  }
  return out;
}

function drawFloor(p: ApartParts, f: DrawnFloor): SVGTemplateResult {
  const flat = (q: Vec2): Vec2 => place(p, [q[0], q[1], f.z_m], f.id);
  const rooms = p.d.rooms.filter((r) => r.floor === f.id);
  const ground = f.outline.map(flat);
  const behind = (w: DrawnWall): number => p.a.paper(...middle(w.line), 0, f.id)[1];
  const walls = p.d.walls.filter((w) => w.floor === f.id).sort((a, b) => behind(a) - behind(b));
  return svg`<g class=${f.open_air ? 'tray open-air' : 'tray'}>
    <clipPath id=${`clip-${f.id}`}>${
      rooms.length
        ? rooms.map((r) => svg`<polygon points=${points(r.outline.map(flat))}></polygon>`)
        : svg`<polygon points=${points(ground)}></polygon>`
    }</clipPath>
    ${f.open_air ? null : svg`<polygon class="slab" points=${points(ground.map(([x, y]) => [x, y + 7] as Vec2))}></polygon>`}
    <polygon class="ground" points=${points(ground)}></polygon>
    ${drawField(p, f)}
    ${rooms.map(
      (r) =>
        svg`<polygon class=${p.chosen === r.path ? 'room is-chosen' : 'room'} data-path=${r.path}
          points=${points(r.outline.map(flat))}></polygon>`,
    )}
    ${f.holes.map((h) => svg`<polygon class="hole" points=${points(h.outline.map(flat))}></polygon>`)}
    ${walls.map((w) => drawWall(p, f, w))}</g>`;
}

/* ---- names, over all floors ---- */

/* What a floor covers of the sheet, its walls included. */
function tray(p: ApartParts, f: DrawnFloor): Vec2[] {
  const up = p.d.walls.some((w) => w.floor === f.id) ? f.height_m * 0.5 : 0;
  return hull(
    f.outline.flatMap((q) => [place(p, [q[0], q[1], f.z_m], f.id), place(p, [q[0], q[1], f.z_m + up], f.id)]),
  );
}

const ROOM_SIZE = 11.5;

/* A room's name stands in its middle, or nearer to a corner where that is free. */
function roomNames(p: ApartParts, f: DrawnFloor, names: Names, above: Vec2[][]): SVGTemplateResult[] {
  const rooms = p.d.rooms.filter((r) => r.floor === f.id).sort((a, b) => b.area_m2 - a.area_m2);
  return rooms.flatMap((r) => {
    if (r.area_m2 * p.w.scale * p.w.scale < 2600) return [];
    const at = (share: number, q: Vec2): Place => {
      const [x, y] = place(
        p,
        [r.centre[0] + (q[0] - r.centre[0]) * share, r.centre[1] + (q[1] - r.centre[1]) * share, f.z_m],
        f.id,
      );
      return { at: [x, y], anchor: 'middle' };
    };
    const places = [at(0, r.centre), ...r.outline.map((q) => at(0.35, q)), ...r.outline.map((q) => at(0.6, q))];
    const found = names.put(r.name, ROOM_SIZE, places, above);
    if (!found) return [];
    const cls = p.fields.has(f.id) ? 'room-name on-field' : 'room-name';
    return [svg`<text class=${cls} x=${found.at[0]} y=${found.at[1]}>${r.name}</text>`];
  });
}

/* A floor's name stands left of its leftmost corner, or beside another corner where that is free. */
function floorName(p: ApartParts, f: DrawnFloor, names: Names, trays: Vec2[][], size: number): SVGTemplateResult {
  const corners = f.outline.map((q) => place(p, [q[0], q[1], f.z_m], f.id));
  const most = (k: (q: Vec2) => number): Vec2 => corners.reduce((m, q) => (k(q) > k(m) ? q : m), corners[0] ?? [0, 0]);
  const [left, right, low, high] = [most((q) => -q[0]), most((q) => q[0]), most((q) => q[1]), most((q) => -q[1])];
  const places: Place[] = [
    { at: [left[0] - 12, left[1] + 5], anchor: 'end' },
    { at: [left[0] - 12, left[1] + 22], anchor: 'end' },
    { at: [right[0] + 12, right[1] + 12], anchor: 'start' },
    { at: [low[0], low[1] + size + 8], anchor: 'middle' },
    { at: [right[0] + 12, right[1] + 30], anchor: 'start' },
    { at: [high[0], high[1] - size - 8], anchor: 'middle' },
  ];
  const found = names.put(f.name, size, places, trays, true) as Place;
  return svg`<text class="floor-name" text-anchor=${found.anchor} x=${found.at[0]} y=${found.at[1]}>${f.name}</text>`;
}

export function drawApart(p: ApartParts): SVGTemplateResult {
  const above = (f: DrawnFloor): number => p.a.paper(...middle(f.outline), f.z_m, f.id)[1];
  const floors = p.a.storeys.flatMap((s) => [...s.floors].sort((a, b) => above(a) - above(b)));
  const trays = floors.map((f) => tray(p, f));
  const { names } = p;
  for (const e of p.d.equipment) if (e.at && !e.inside) names.keep(place(p, e.at, e.floor), 9);
  const floorNames = floors.map((f) => floorName(p, f, names, trays, p.size));
  return svg`${floors.map((f) => drawFloor(p, f))}
  ${p.d.cables.map(
    (c) =>
      svg`<g class=${p.chosen === c.path ? 'cable is-chosen' : 'cable'} data-path=${c.path}>${c.stretches.map(
        (s) => svg`<path d=${path(s.line.map((q) => place(p, q, s.floor)))}></path>`,
      )}</g>`,
  )}
  ${floorNames} ${floors.map((f, i) => roomNames(p, f, names, trays.slice(i + 1)))}`;
}
