import { html, nothing, svg, type TemplateResult } from 'lit';
import { cividisCss } from '../draw/colour';
import { SCALES } from '../draw/field';
import type { House } from '../state/house';
import { number } from '../units';

/* What the colours of the painted field mean, or why there is none. */
export function legend(house: House): TemplateResult | typeof nothing {
  const { quantity } = house.look;
  if (quantity === 'none') return nothing;
  if (house.fieldTrouble) return html`<p class="legend quiet">${house.fieldTrouble}</p>`;
  if (!house.fields.size)
    return house.fieldsComing ? html`<p class="legend quiet">The field is being computed.</p>` : nothing;
  const scale = SCALES[quantity];
  const share = (v: number): number => (v - scale.from) / (scale.to - scale.from);
  const wide = 180;
  /* a quick field, that of some floors only, or the one looked at before */
  const coming = html`<p class="legend-word quiet" role="status">the full field is coming</p>`;
  return html`${house.fieldsComing ? coming : nothing}<svg
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
