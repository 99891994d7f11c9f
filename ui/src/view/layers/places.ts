import { nothing, svg, type SVGTemplateResult } from 'lit';
import type { Vec2 } from '../../api/types';
import { path, points } from '../../draw/shapes';
import type { Layer, Stage } from '../../draw/stage';

/* What the plan shows only while the house is changed: cable ways, slopes of roofs, and where the line enters. */

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
  const entry = s.d.line?.at && s.d.line.floor === s.floor.id ? s.onPlan(flat(s.d.line.at)) : null;
  if (entry) s.names.put('line', 12, [{ at: [entry[0] + 11, entry[1] + 4], anchor: 'start' }], [], true);
  return svg`<g class="places">
    ${s.d.planes.filter((p) => p.floor === s.floor.id).map((p) => area(s, 'plane', p.path, p.outline.map(flat)))}
    ${s.d.runs
      .filter((r) => r.floors.includes(s.floor.id))
      .map((r) => (r.outline ? area(s, 'way-area', r.path, r.outline) : way(s, r.path, (r.line ?? []).map(flat))))}
    ${
      entry
        ? svg`<g class="entry" data-path="/line"><circle class="hit" cx=${entry[0]} cy=${entry[1]} r="12"></circle>
            <path d=${`M${entry[0] - 7} ${entry[1] - 6}L${entry[0] + 6} ${entry[1]}L${entry[0] - 7} ${entry[1] + 6}Z`}></path>
            <text class="tag" x=${entry[0] + 11} y=${entry[1] + 4}>line</text></g>`
        : nothing
    }</g>`;
};
