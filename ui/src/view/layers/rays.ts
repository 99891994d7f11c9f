import { svg, type SVGTemplateResult } from 'lit';
import type { Crossing, Heard, SignalPath, Vec2, Vec3 } from '../../api/types';
import type { Place } from '../../draw/names';
import { path } from '../../draw/shapes';
import type { Layer, Stage } from '../../draw/stage';
import { rayName } from '../../state/house';
import { number } from '../../units';

/* The paths of signal to the spot that was asked about: each kind by its line, the one that is looked at with its losses. */

export const RAYS_OF = 2; /* access points whose paths are listed and drawn */
export const RAYS_EACH = 4;

/* The floor that a point hangs on, for floors apart: the highest that lies below it. */
function floorAt(s: Stage, [, , z]: Vec3): string | null {
  const below = s.d.floors.filter((f) => !f.open_air && f.z_m <= z + 0.01).sort((a, b) => b.z_m - a.z_m);
  return below[0]?.id ?? null;
}

/* Points are on the sheet where they hang in the house; on the plan all of them lie on its floor. */
const onSheet = (s: Stage, q: Vec3): Vec2 => s.toScreen(q, s.apart ? floorAt(s, q) : s.floor.id);

/* Where a straight piece goes through another storey, floors apart bends it there: it is drawn in short steps. */
function line(s: Stage, points: Vec3[]): Vec2[] {
  if (!s.apart) return points.map((q) => onSheet(s, q));
  const out: Vec2[] = [];
  points.forEach((q, i) => {
    const before = points[i - 1];
    const storeys = before && floorAt(s, before) !== floorAt(s, q);
    const n = storeys ? 24 : 1;
    for (let k = 1; before && k <= n; k++) {
      const t = k / n;
      out.push(onSheet(s, [0, 1, 2].map((c) => before[c] + (q[c] - before[c]) * t) as Vec3));
    }
    if (!before) out.push(onSheet(s, q));
  });
  return out;
}

/* What is lost where: written beside it, on the side that is free. */
function loss(s: Stage, c: Crossing): SVGTemplateResult | null {
  if (Math.abs(c.loss_db) < 0.05) return null;
  const [x, y] = onSheet(s, c.place_m);
  const word = `−${number(c.loss_db, 0)}`;
  const places = [-6, 13, -19, 26].flatMap((dy): Place[] => [
    { at: [x + 7, y + dy], anchor: 'start' },
    { at: [x - 7, y + dy], anchor: 'end' },
  ]);
  const { at, anchor } = s.names.put(word, 13, places, [], true) ?? places[0];
  return svg`<circle class="crossing" cx=${x} cy=${y} r="2.6"></circle>
    <text class="loss" text-anchor=${anchor} x=${at[0]} y=${at[1]}>${word}</text>`;
}

function ray(s: Stage, heard: Heard, r: SignalPath, k: number): SVGTemplateResult {
  const chosen = s.house.ray === rayName(heard, k);
  return svg`<path class=${`ray is-${r.kind}${chosen ? ' is-chosen' : ''}`} d=${path(line(s, r.points_m))}></path>`;
}

export const rays: Layer = (s) => {
  const spot = s.house.spot;
  if (!spot || !s.shows(spot.floor)) return null;
  const end = s.toScreen([spot.at[0], spot.at[1], (s.floorOf(spot.floor)?.z_m ?? 0) + 1.2], spot.floor);
  const heard = (s.house.report?.access_points ?? []).slice(0, RAYS_OF);
  const all = heard.flatMap((h) => h.paths.slice(0, RAYS_EACH).map((r, k) => ({ h, r, k })));
  const looked = all.find(({ h, k }) => s.house.ray === rayName(h, k));
  return svg`<g class="rays">
    ${all.filter((x) => x !== looked).map(({ h, r, k }) => ray(s, h, r, k))}
    ${looked ? svg`${ray(s, looked.h, looked.r, looked.k)}${looked.r.crossings.map((c) => loss(s, c))}` : null}
    <circle class="asked-spot" cx=${end[0]} cy=${end[1]} r="6"></circle>
    <circle class="asked-spot-dot" cx=${end[0]} cy=${end[1]} r="1.5"></circle></g>`;
};
