import { svg, type SVGTemplateResult } from 'lit';
import type { DrawnDevice, DrawnEquipment, DrawnMount, DrawnNeighbour, DrawnSpot, Vec2, Vec3 } from '../../api/types';
import type { Place } from '../../draw/names';
import { diamond, path } from '../../draw/shapes';
import { entryOf, type Layer, type Stage, type Thing } from '../../draw/stage';
import { words } from '../../units';

/* Mounts, devices and equipment, and while the house is changed neighbours and the line's entry: what can be chosen and moved. */

const place = (s: Stage, t: Thing): Vec2 => s.toScreen(s.placeOf(t) as Vec3, t.floor);

/* What lies below it on its floor. */
function foot(s: Stage, t: Thing): Vec2 {
  const [x, y, z] = s.placeOf(t) as Vec3;
  return s.toScreen([x, y, s.floorOf(t.floor)?.z_m ?? z], t.floor);
}

const TAG_SIZE = 12.5;

/* Its name: beside it, or wherever near it no other word stands. */
function tag(s: Stage, word: string, [x, y]: Vec2, off: number): SVGTemplateResult | null {
  const rows = [4, 18, -10, 32, -24];
  const places = rows.flatMap((dy): Place[] => [
    { at: [x + off, y + dy], anchor: 'start' },
    { at: [x - off, y + dy], anchor: 'end' },
  ]);
  const found = s.names.put(word, TAG_SIZE, places, [], s.wide || !s.apart);
  if (!found) return null; /* a small sheet has no place for all of them */
  return svg`<text class="tag" text-anchor=${found.anchor} x=${found.at[0]} y=${found.at[1]}>${word}</text>`;
}

function mount(s: Stage, m: DrawnMount): SVGTemplateResult {
  const [x, y] = place(s, m);
  return svg`<g class=${s.house.chosenPath === m.path ? 'mount is-chosen' : 'mount'} data-path=${m.path} tabindex="0" role="button"
    aria-label=${`mount ${words(m.id)}`}>
    <circle class="hit" cx=${x} cy=${y} r="11"></circle>
    <path d=${`M${x - 4} ${y}H${x + 4}M${x} ${y - 4}V${y + 4}`}></path></g>`;
}

function device(s: Stage, v: DrawnDevice, [x, y]: Vec2): SVGTemplateResult {
  const chosen = s.house.chosenPath === v.path;
  const marked = s.house.marked.has(v.id);
  const told = chosen || marked || (v.has_place && s.w.scale > 95);
  const name = v.says || words(v.id);
  return svg`<g class=${`device${chosen ? ' is-chosen' : ''}${marked ? ' is-marked' : ''}${v.has_place ? '' : ' is-anywhere'}`}
    data-path=${v.path} tabindex=${chosen ? 0 : -1} role="button" aria-label=${`device ${name}`}>
    <circle class="hit" cx=${x} cy=${y} r="10"></circle>
    <circle class="dot" cx=${x} cy=${y} r=${chosen ? 5 : 3.2}></circle>
    ${told ? tag(s, name, [x, y], 8) : null}</g>`;
}

/* A dot, and waves at both sides of it. */
const waves = (x: number, y: number): string =>
  `M${x - 1} ${y}h2M${x - 4} ${y - 4}a5.7 5.7 0 0 0 0 8M${x + 4} ${y - 4}a5.7 5.7 0 0 1 0 8`;

/* What is heard of a network next door is heard here. */
function neighbour(s: Stage, n: DrawnNeighbour): SVGTemplateResult {
  const [x, y] = place(s, n);
  const chosen = s.house.chosenPath === n.path;
  return svg`<g class=${chosen ? 'neighbour is-chosen' : 'neighbour'} data-path=${n.path} tabindex="0" role="button"
    aria-label=${`neighbour ${words(n.id)}, ${n.band} GHz, channel ${n.channel}`}>
    <circle class="hit" cx=${x} cy=${y} r="11"></circle>
    <path class="back" d=${waves(x, y)}></path><path d=${waves(x, y)}></path>
    ${chosen || s.w.scale > 95 ? tag(s, words(n.id), [x, y], 10) : null}</g>`;
}

function entry(s: Stage, e: DrawnSpot): SVGTemplateResult {
  const [x, y] = place(s, e);
  return svg`<g class=${s.house.chosenPath === e.path ? 'entry is-chosen' : 'entry'} data-path=${e.path} tabindex="0" role="button"
    aria-label="where the line enters">
    <circle class="hit" cx=${x} cy=${y} r="12"></circle>
    <path d=${`M${x - 7} ${y - 6}L${x + 6} ${y}L${x - 7} ${y + 6}Z`}></path>
    ${tag(s, 'line', [x, y], 11)}</g>`;
}

/* The chosen one lies above all others in its place. */
function changed(s: Stage): SVGTemplateResult[] {
  const chosen = (n: Thing): number => Number(s.house.chosenPath === n.path);
  const line = entryOf(s.d);
  return [
    ...(line?.at && s.shows(line.floor) ? [entry(s, line)] : []),
    ...s.d.neighbours
      .filter((n) => n.at && s.shows(n.floor))
      .sort((a, b) => chosen(a) - chosen(b))
      .map((n) => neighbour(s, n)),
  ];
}

/* "switch box": unless its name says its kind already. */
const called = (kind: string, name: string): string => (name.split(' ').includes(kind) ? name : `${kind} ${name}`);

function equipment(s: Stage, e: DrawnEquipment): SVGTemplateResult {
  const [x, y] = place(s, e);
  const chosen = s.house.chosenPath === e.path || (e.mount && s.house.chosenPath === `/mounts/${e.mount}`);
  const ap = e.radios.length > 0 || e.kind === 'access_point';
  return svg`<g class=${`equipment${chosen ? ' is-chosen' : ''}${s.house.marked.has(e.id) ? ' is-marked' : ''}`}
    data-path=${e.path} tabindex="0" role="button"
    aria-label=${`${called(ap ? 'access point' : words(e.kind), words(e.id))}${e.says ? `, ${e.says}` : ''}`}>
    ${s.apart ? svg`<path class="drop" d=${path([[x, y], foot(s, e)])}></path>` : null}
    <circle class="hit" cx=${x} cy=${y} r="13"></circle>
    ${
      ap
        ? svg`<path class="access-point" d=${diamond([x, y], 8, s.apart ? 0.55 : 1)}></path>`
        : svg`<rect class="box" x=${x - 5} y=${y - 5} width="10" height="10"></rect>`
    }
    ${tag(s, words(e.id), [x, y], 12)}</g>`;
}

export const things: Layer = (s) => {
  const here = (t: Thing): boolean => t.at !== null && s.shows(t.floor);
  const row = new Map<string, number>();
  /* devices of a room that stand anywhere lie in a row below its name */
  const lie = (v: DrawnDevice): Vec2 => {
    const at = place(s, v);
    if (v.has_place || s.moving?.thing.path === v.path) return at;
    const i = row.get(v.room ?? '') ?? 0;
    row.set(v.room ?? '', i + 1);
    return [at[0] + ((i % 5) - 2) * 11, at[1] + 16 + Math.floor(i / 5) * 11];
  };
  const stands = s.d.equipment.filter((e) => here(e) && !e.inside);
  for (const e of stands) s.names.keep(place(s, e), 7);
  return svg`<g class="things">
    ${s.apart ? null : s.d.mounts.filter((m) => here(m) && !m.holds).map((m) => mount(s, m))}
    ${s.apart || s.house.look.side !== 'change' ? null : changed(s)}
    ${s.d.devices.filter((v) => here(v) && (!s.apart || s.house.marked.has(v.id))).map((v) => device(s, v, lie(v)))}
    ${stands.map((e) => equipment(s, e))}</g>`;
};
