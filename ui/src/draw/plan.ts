import { svg, type SVGTemplateResult } from 'lit';
import type { Drawing, DrawnFloor, DrawnOpening, DrawnRoom, DrawnWall, FieldGrid, Vec2 } from '../api/types';
import { pictureOf } from './field';
import { rowOf, type Names, type Place } from './names';
import { toScreen, type Window } from './projection';
import { nearestOn } from './snap';
import { diamond, inside, leafEnd, path, pieces, points, type Piece } from './shapes';

/* The plan of one floor, seen from above, y up the sheet. */

export interface PlanParts {
  d: Drawing;
  floor: DrawnFloor;
  w: Window;
  field: FieldGrid | null;
  contours: { level: number; line: Vec2[]; is_promised: boolean }[];
  chosen: string; /* the path of the thing that is chosen */
  names: Names; /* of the sheet */
}

const px = (w: Window, [x, y]: Vec2): Vec2 => toScreen(w, [x, -y]);

/* How far a wall runs on beyond its end so that corners close: half the thickness of the thickest other wall there. */
function beyond(p: PlanParts, w: DrawnWall, end: Vec2): number {
  let reach = 0;
  for (const o of p.d.walls) {
    if (o === w || o.floor !== w.floor || o.thickness_m / 2 <= reach) continue;
    for (let i = 0; i + 1 < o.line.length; i++)
      if (nearestOn(o.line[i], o.line[i + 1], end).away < 0.02) reach = o.thickness_m / 2;
  }
  return reach;
}

const along = (from: Vec2, to: Vec2, by: number): Vec2 => {
  const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
  return far > 0 ? [to[0] + ((to[0] - from[0]) * by) / far, to[1] + ((to[1] - from[1]) * by) / far] : to;
};

/* The solid pieces that end in a corner are drawn on into it. */
function closed(p: PlanParts, w: DrawnWall, piece: Piece): Piece {
  if (piece.opening) return piece;
  const reach = (at: Vec2): number => {
    const i = w.line.findIndex((q) => Math.hypot(q[0] - at[0], q[1] - at[1]) < 1e-6);
    if (i < 0) return 0;
    return i > 0 && i + 1 < w.line.length ? w.thickness_m / 2 : beyond(p, w, at);
  };
  return { ...piece, a: along(piece.b, piece.a, reach(piece.a)), b: along(piece.a, piece.b, reach(piece.b)) };
}

function drawWall(p: PlanParts, w: DrawnWall): SVGTemplateResult {
  const width = Math.max(w.thickness_m * p.w.scale, 1.5);
  const chosen = p.chosen === w.path || p.chosen.startsWith(w.path + '/');
  return svg`<g class=${chosen ? 'wall is-chosen' : 'wall'} data-path=${w.path}>
    ${pieces(w).map((piece) => drawPiece(p, closed(p, w, piece), width))}</g>`;
}

function drawPiece(p: PlanParts, piece: Piece, width: number): SVGTemplateResult {
  const a = px(p.w, piece.a),
    b = px(p.w, piece.b);
  const line = `M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}`;
  if (!piece.opening) return svg`<path class="solid" d=${line} stroke-width=${width}></path>`;
  return svg`<g class="opening" data-path=${piece.opening.path}>
    <path class="hit-line" d=${line} stroke-width=${Math.max(width, 14)}></path>${drawOpening(piece.opening, a, b, line, width)}</g>`;
}

function drawOpening(o: DrawnOpening, a: Vec2, b: Vec2, line: string, width: number): SVGTemplateResult {
  if (o.kind === 'window')
    return svg`<path class="jamb" d=${line} stroke-width=${width}></path>
      <path class="glass-back" d=${line} stroke-width=${Math.max(width - 2, 1)}></path>
      <path class="glass" d=${line} stroke-width="1"></path>`;
  if (o.kind === 'gap') return svg`<path class="gap" d=${line} stroke-width="1"></path>`;
  const r = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const leaf = leafEnd(a, b);
  return svg`<path class="door-back" d=${line} stroke-width=${width + 0.5}></path>
    <path class="swing" d=${`M${leaf[0].toFixed(1)} ${leaf[1].toFixed(1)}A${r.toFixed(1)} ${r.toFixed(1)} 0 0 1 ${b[0].toFixed(1)} ${b[1].toFixed(1)}`}></path>
    <path class="leaf" d=${path([a, leaf])}></path>`;
}

function drawField(p: PlanParts): SVGTemplateResult | null {
  const g = p.field;
  if (!g) return null;
  const [x, y] = px(p.w, [g.x_m, g.y_m + g.rows * g.step_m]);
  return svg`<g clip-path="url(#rooms)">
    <image class="field" href=${pictureOf(g)} x=${x} y=${y} width=${g.columns * g.step_m * p.w.scale}
      height=${g.rows * g.step_m * p.w.scale} preserveAspectRatio="none"></image>
    ${p.contours.map((c) => {
      const line = c.line.map((q) => px(p.w, q));
      return svg`<path class=${c.is_promised ? 'contour is-promised' : 'contour'} d=${path(line)}></path>`;
    })}
    ${contourFigures(p)}</g>`;
}

const WALL_M = 0.15; /* half of a thick one */

/* A figure of a contour about a place: within one room, clear of its walls (an outline may run in their middle), and on nothing that
   would hide it. */
function hasRoomAt(p: PlanParts, [x, y]: Vec2): boolean {
  const [wide, high] = [14 / p.w.scale + WALL_M, 8 / p.w.scale + WALL_M];
  const at = (i: number, j: number): Vec2 => [x + i * wide, y + j * high];
  const corners = [at(-1, -1), at(1, -1), at(1, 1), at(-1, 1)];
  const along = [-1, -0.5, 0, 0.5, 1].flatMap((i) => [at(i, -1), at(i, 0), at(i, 1)]);
  const hiding = p.d.obstacles.flatMap((o) => (o.floor === p.floor.id && o.outline ? [o.outline] : []));
  hiding.push(...p.floor.holes.map((h) => h.outline));
  return (
    p.d.rooms.some((r) => r.floor === p.floor.id && corners.every((q) => inside(r.outline, q))) &&
    !hiding.some((o) => along.some((q) => inside(o, q)))
  );
}

/* One figure on each longer contour, in its middle or farther along it, where it is seen whole and no other word stands. */
function contourFigures(p: PlanParts): SVGTemplateResult[] {
  const taken: Vec2[] = [];
  return p.contours.flatMap((c) => {
    if (c.line.length < 8) return [];
    const figure = c.level < 0 ? '−' + -c.level : String(c.level);
    const places = [0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8]
      .map((share) => c.line[Math.floor(c.line.length * share)])
      .filter((q) => hasRoomAt(p, q))
      .map((q) => px(p.w, q))
      .filter(([x, y]) => !taken.some((t) => Math.hypot(t[0] - x, t[1] - y) < 70))
      .map(([x, y]): Place => ({ at: [x, y + 3], anchor: 'middle' }));
    const found = p.names.put(figure, 11, places, []);
    if (!found) return [];
    taken.push(found.at);
    return [svg`<text class="contour-figure" x=${found.at[0]} y=${found.at[1]}>${figure}</text>`];
  });
}

/* What it stands on: the floor's outline. */
export function drawGround(floor: DrawnFloor, w: Window): SVGTemplateResult {
  return svg`<polygon class=${floor.open_air ? 'ground open-air' : 'ground'}
    points=${points(floor.outline.map((q) => px(w, q)))}></polygon>`;
}

export function drawPlan(p: PlanParts): SVGTemplateResult {
  const { d, floor, w } = p;
  const rooms = d.rooms.filter((r) => r.floor === floor.id);
  for (const e of d.equipment)
    if (e.at && !e.inside && e.floor === floor.id) p.names.keep(px(w, [e.at[0], e.at[1]]), 9);
  const roomNames = rooms.map((r) => nameOf(p, r)); /* before figures of contours, which give way to them */
  const clipped = rooms.length ? rooms.map((r) => r.outline) : [floor.outline];
  return svg`
    <defs><clipPath id="rooms">
      ${clipped.map((line) => svg`<polygon points=${points(line.map((q) => px(w, q)))}></polygon>`)}
    </clipPath></defs>
    ${rooms.map(
      (r) =>
        svg`<polygon class=${p.chosen === r.path ? 'room is-chosen' : 'room'} data-path=${r.path}
          points=${points(r.outline.map((q) => px(w, q)))}></polygon>`,
    )}
    ${drawField(p)}
    ${floor.holes.map((h, i) => svg`<polygon class="hole" data-path=${`${floor.path}/holes/${i}`} points=${points(h.outline.map((q) => px(w, q)))}></polygon>`)}
    ${d.obstacles
      .filter((o) => o.floor === floor.id)
      .map((o) =>
        o.outline
          ? svg`<polygon class=${p.chosen === o.path ? 'obstacle is-chosen' : 'obstacle'} data-path=${o.path} points=${points(o.outline.map((q) => px(w, q)))}></polygon>`
          : svg`<path class="obstacle-line" data-path=${o.path} d=${path((o.line ?? []).map((q) => px(w, q)))}></path>`,
      )}
    ${d.walls.filter((x) => x.floor === floor.id).map((x) => drawWall(p, x))}
    ${d.cables.map((c) =>
      c.stretches
        .filter((s) => s.floor === floor.id)
        .map(
          (s) =>
            svg`<path class=${p.chosen === c.path ? 'cable is-chosen' : 'cable'} data-path=${c.path}
              d=${path(s.line.map((q) => px(w, [q[0], q[1]])))}></path>`,
        ),
    )}
    ${roomNames}`;
}

const NAME_SIZE = 11.5;

/* A room's name stands in its middle, or above or below it where equipment stands there. */
function nameOf(p: PlanParts, r: DrawnRoom): SVGTemplateResult | null {
  const [x, y] = px(p.w, r.centre);
  const side = (k: 0 | 1): number =>
    (Math.max(...r.outline.map((q) => q[k])) - Math.min(...r.outline.map((q) => q[k]))) * p.w.scale;
  if (side(0) < 34) return null;
  const lines = side(0) < r.name.length * 6.4 ? r.name.split(' ') : [r.name];
  const steps = [0, 18, -18, 34, -34].filter((dy) => Math.abs(dy) < side(1) / 2 - 8 || !dy);
  const at = p.names.block(
    lines,
    NAME_SIZE,
    steps.map((dy): Vec2 => [x, y + dy]),
  );
  return svg`<text class=${p.field ? 'room-name on-field' : 'room-name'} x=${at[0]} y=${at[1]}>
    ${lines.map((l, i) => svg`<tspan x=${at[0]} y=${at[1] + rowOf(i, lines.length)}>${l}</tspan>`)}</text>`;
}

/* A bar of whole metres or feet. */
export function scaleBar(perUnit_px: number, unit: string, x: number, y: number): SVGTemplateResult {
  const steps = [1, 2, 5, 10, 20, 50, 100];
  const many = steps.find((s) => s * perUnit_px >= 70) ?? 100;
  const end = x + many * perUnit_px;
  return svg`<g class="scale-bar"><path d=${`M${x} ${y - 4}V${y}H${end}V${y - 4}`}></path>
    <text x=${x} y=${y - 8}>0</text><text x=${end} y=${y - 8} text-anchor="middle">${many} ${unit}</text></g>`;
}

export function northArrow(deg: number, x: number, y: number): SVGTemplateResult {
  return svg`<g class="north" transform=${`translate(${x} ${y}) rotate(${deg})`}>
    <path d="M0 14V-12M-5 -5L0 -13L5 -5"></path><text y="-17" text-anchor="middle">N</text></g>`;
}

export const accessPointShape = (at: Vec2, flat = 1): string => diamond(at, 8, flat);
