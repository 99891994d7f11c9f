import { svg, type SVGTemplateResult } from 'lit';
import type { Drawing, DrawnFloor, DrawnWall, FieldGrid, Vec2, Vec3 } from '../api/types';
import { pictureOf } from './field';
import { toScreen, type Axonometry, type Window } from './projection';
import { middle, path, points } from './shapes';

/* The house with its floors apart: each floor a tray that one looks into from above. */

export interface ApartParts {
  d: Drawing;
  a: Axonometry;
  w: Window;
  fields: Map<string, FieldGrid>;
  chosen: string;
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
    ${walls.map((w) => drawWall(p, f, w))}
    ${rooms.map((r) => {
      const [x, y] = flat(r.centre);
      if (r.area_m2 * p.w.scale * p.w.scale < 2600) return null;
      return svg`<text class=${p.fields.has(f.id) ? 'room-name on-field' : 'room-name'} x=${x} y=${y}>${r.name}</text>`;
    })}</g>`;
}

/* The floor's name stands left of its leftmost corner. */
function floorWord(p: ApartParts, f: DrawnFloor): SVGTemplateResult {
  const corners = f.outline.map((q) => place(p, [q[0], q[1], f.z_m], f.id));
  const left = corners.reduce((m, q) => (q[0] < m[0] ? q : m), corners[0] ?? [0, 0]);
  return svg`<text class="floor-name" x=${left[0] - 12} y=${left[1] + 5}>${f.name}</text>`;
}

export function drawApart(p: ApartParts): SVGTemplateResult {
  const above = (f: DrawnFloor): number => p.a.paper(...middle(f.outline), f.z_m, f.id)[1];
  return svg`${p.a.storeys.map(
    (s) =>
      svg`${[...s.floors].sort((a, b) => above(a) - above(b)).map((f) => svg`${drawFloor(p, f)}${floorWord(p, f)}`)}`,
  )}
  ${p.d.cables.map(
    (c) =>
      svg`<g class=${p.chosen === c.path ? 'cable is-chosen' : 'cable'} data-path=${c.path}>${c.stretches.map(
        (s) => svg`<path d=${path(s.line.map((q) => place(p, q, s.floor)))}></path>`,
      )}</g>`,
  )}`;
}
