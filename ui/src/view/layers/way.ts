import { svg, type SVGTemplateResult } from 'lit';
import type { Step, Vec2 } from '../../api/types';
import { note, path, wrap } from '../../draw/shapes';
import type { Layer, Stage } from '../../draw/stage';

/* A packet's way through the house: dashed through the air, along the cables, and a cross where it is refused. */

/* Where a step is on the sheet: what is in a cabinet, at its cabinet. */
function placeOf(s: Stage, step: Step): Vec2 | null {
  const things = [...s.d.devices, ...s.d.equipment];
  let thing = things.find((t) => t.id === step.id && (step.kind === 'device') === s.d.devices.some((d) => d === t));
  const inside = s.d.equipment.find((e) => e === thing)?.inside;
  if (thing && !thing.at && inside) thing = s.d.equipment.find((e) => e.id === inside) ?? thing;
  return thing?.at && s.shows(thing.floor) ? s.toScreen(thing.at, thing.floor) : null;
}

function cable(s: Stage, step: Step, cls: string): SVGTemplateResult | null {
  const found = s.d.cables.find((c) => c.id === step.id);
  if (!found) return null;
  return svg`${found.stretches
    .filter((x) => s.apart || x.floor === s.floor.id || x.floor === null)
    .map((x) => svg`<path class=${cls} d=${path(x.line.map((q) => s.toScreen(q, x.floor)))}></path>`)}`;
}

/* Two things without a routed cable between them are joined by a straight line all the same. */
function joined(s: Stage, steps: Step[], i: number, cls: string): SVGTemplateResult | null {
  const step = steps[i];
  if (step.kind === 'cable' && s.d.cables.find((c) => c.id === step.id)?.stretches.length) return cable(s, step, cls);
  const a = i > 0 ? placeOf(s, steps[i - 1]) : null;
  const b = i + 1 < steps.length ? placeOf(s, steps[i + 1]) : null;
  return a && b ? svg`<path class=${cls} d=${path([a, b])}></path>` : null;
}

export const way: Layer = (s) => {
  const asked = s.house.look.side === 'ask' ? s.house.asked : null;
  if (!asked) return null;
  const refused = asked.verdict === 'refused';
  const last = asked.steps.length - 1;
  const end = asked.steps[last];
  const at = end ? placeOf(s, end) : null;
  const decided = asked.steps.find((x) => x.decides);
  const where = decided ? placeOf(s, decided) : null;
  return svg`<g class=${refused ? 'way-drawn is-refused' : 'way-drawn'}>
    ${asked.steps.map((step, i) => {
      const cls = `way-line${step.kind === 'air' ? ' is-air' : ''}${s.house.step === i ? ' is-marked' : ''}`;
      return step.kind === 'air' || step.kind === 'cable' ? joined(s, asked.steps, i, cls) : null;
    })}
    ${asked.steps.map((step, i) => {
      if (step.kind === 'air' || step.kind === 'cable') return null;
      const q = placeOf(s, step);
      return q
        ? svg`<circle class=${s.house.step === i ? 'way-stop is-marked' : 'way-stop'} data-step=${i} cx=${q[0]} cy=${q[1]}
            r=${s.house.step === i ? 8 : 5}></circle>`
        : null;
    })}
    ${
      where && s.wide
        ? note(
            where,
            [s.size.w - 240, Math.min(Math.max(where[1] + 60, 60), s.size.h - 190)],
            asked.verdict,
            wrap(asked.rule?.says || asked.reason, 38, 5),
            refused,
          )
        : null
    }
    ${refused && at ? svg`<path class="way-cross" d=${`M${at[0] - 9} ${at[1] - 9}l18 18m0 -18l-18 18`}></path>` : null}</g>`;
};
