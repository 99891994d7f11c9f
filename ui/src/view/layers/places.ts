import { svg, type SVGTemplateResult } from 'lit';
import type { Vec2 } from '../../api/types';
import { path, points } from '../../draw/shapes';
import type { Layer, Stage } from '../../draw/stage';

/* What the plan shows only while the house is changed: cable ways and slopes of roofs. */

function area(s: Stage, kind: string, where: string, outline: Vec2[]): SVGTemplateResult {
  return svg`<polygon class=${`${kind}${s.house.chosenPath === where ? ' is-chosen' : ''}`} data-path=${where}
    points=${points(outline.map((p) => s.onPlan(p)))}></polygon>`;
}

function way(s: Stage, where: string, line: Vec2[]): SVGTemplateResult {
  const d = path(line.map((p) => s.onPlan(p)));
  const [x, y] = s.onPlan(line[0]);
  return svg`<g class=${`way${s.house.chosenPath === where ? ' is-chosen' : ''}`} data-path=${where}>
    ${line.length > 1 ? svg`<path class="hit-line" d=${d} stroke-width="14"></path><path d=${d}></path>` : svg`<circle cx=${x} cy=${y} r="7"></circle>`}</g>`;
}

export const places: Layer = (s) => {
  if (s.apart || s.house.look.side !== 'change') return null;
  const flat = (p: readonly number[]): Vec2 => [p[0], p[1]];
  return svg`<g class="places">
    ${s.d.planes.filter((p) => p.floor === s.floor.id).map((p) => area(s, 'plane', p.path, p.outline.map(flat)))}
    ${s.d.runs
      .filter((r) => r.floors.includes(s.floor.id))
      .map((r) =>
        r.outline ? area(s, 'way-area', r.path, r.outline) : way(s, r.path, (r.line ?? []).map(flat)),
      )}</g>`;
};
