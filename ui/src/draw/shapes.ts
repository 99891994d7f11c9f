import { svg, type SVGTemplateResult } from 'lit';
import type { DrawnFloor, DrawnOpening, DrawnWall, Vec2 } from '../api/types';

/* Small shapes that both views use: pure, in pixels. */

export const points = (list: readonly Vec2[]): string =>
  list.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(' ');

export const path = (list: readonly Vec2[], close = false): string =>
  list.map(([x, y], i) => `${i ? 'L' : 'M'}${x.toFixed(1)} ${y.toFixed(1)}`).join('') + (close ? 'Z' : '');

/* Where the leaf of a door ends that stands open, on paper. */
export const leafEnd = (a: Vec2, b: Vec2): Vec2 => [a[0] + (b[1] - a[1]), a[1] - (b[0] - a[0])];

export const diamond = ([x, y]: Vec2, r: number, flat = 1): string =>
  `M${x - r} ${y}L${x} ${y - r * flat}L${x + r} ${y}L${x} ${y + r * flat}Z`;

export interface Piece {
  a: Vec2;
  b: Vec2;
  opening: DrawnOpening | null;
}

/* A wall as pieces between its openings, in order along its line. */
export function pieces(w: DrawnWall): Piece[] {
  const out: Piece[] = [];
  let walked = 0;
  for (let i = 0; i + 1 < w.line.length; i++) {
    const a = w.line[i],
      b = w.line[i + 1];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (length <= 0) continue;
    const along = (m: number): Vec2 => [a[0] + ((b[0] - a[0]) * m) / length, a[1] + ((b[1] - a[1]) * m) / length];
    let from = 0;
    const here = w.openings
      .map((o) => ({ o, from: Math.max(o.from_m - walked, 0), to: Math.min(o.to_m - walked, length) }))
      .filter((c) => c.to > c.from)
      .sort((p, q) => p.from - q.from);
    for (const c of here) {
      if (c.from > from) out.push({ a: along(from), b: along(c.from), opening: null });
      out.push({ a: along(c.from), b: along(c.to), opening: c.o });
      from = Math.max(from, c.to);
    }
    if (from < length) out.push({ a: along(from), b: along(length), opening: null });
    walked += length;
  }
  return out;
}

export function middle(list: readonly Vec2[]): Vec2 {
  let x = 0,
    y = 0;
  for (const p of list) {
    x += p[0];
    y += p[1];
  }
  return [x / Math.max(list.length, 1), y / Math.max(list.length, 1)];
}

export function inside(outline: readonly Vec2[], [x, y]: Vec2): boolean {
  let is = false;
  for (let i = 0, j = outline.length - 1; i < outline.length; j = i++) {
    const [xi, yi] = outline[i],
      [xj, yj] = outline[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) is = !is;
  }
  return is;
}

export const floorName = (f: DrawnFloor): string => f.name;

/* A note with a leader line: where, and the words beside it. */
export function note(spot: Vec2, at: Vec2, head: string, lines: string[], accent: boolean): SVGTemplateResult {
  const left = at[0] < spot[0];
  const foot: Vec2 = [at[0] + (left ? 8 : -8), at[1]];
  const anchor = left ? 'end' : 'start';
  return svg`<g class=${accent ? 'note is-broken' : 'note'}>
    <circle class="spot" cx=${spot[0]} cy=${spot[1]} r="7"></circle>
    <path class="leader" d=${`M${spot[0] + (left ? -6 : 6)} ${spot[1] - 3}L${foot[0] + (left ? 16 : -16)} ${foot[1]}L${foot[0]} ${foot[1]}`}></path>
    <text class="note-head" x=${at[0]} y=${at[1] + 4} text-anchor=${anchor}>${head}</text>
    ${lines.map((l, i) => svg`<text x=${at[0]} y=${at[1] + 23 + i * 17} text-anchor=${anchor}>${l}</text>`)}
  </g>`;
}

/* Words broken into lines of about so many letters. */
export function wrap(text: string, letters: number, most = 6): string[] {
  const out: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
    if (line && line.length + word.length + 1 > letters) {
      out.push(line);
      line = word;
    } else line = line ? `${line} ${word}` : word;
  }
  if (line) out.push(line);
  if (out.length > most) {
    out.length = most;
    out[most - 1] += ' …';
  }
  return out;
}
