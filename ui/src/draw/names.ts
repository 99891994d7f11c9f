import type { Vec2 } from '../api/types';
import { inside } from './shapes';

/* Where words can stand on a crowded drawing: none over another, none over a floor that is not theirs.  Pure, in pixels. */

export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

export type Anchor = 'start' | 'middle' | 'end';

/* A word's place: its base line's point, as SVG has it. */
export interface Place {
  at: Vec2;
  anchor: Anchor;
}

/* About as wide as it will be: letters of this family are a little over half as wide as high. */
export function boxOf(word: string, size: number, { at: [x, y], anchor }: Place): Box {
  const wide = word.length * size * 0.56;
  const x0 = anchor === 'start' ? x : anchor === 'end' ? x - wide : x - wide / 2;
  return { x0, y0: y - size * 0.8, x1: x0 + wide, y1: y + size * 0.25 };
}

const overlap = (a: Box, b: Box): boolean => a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;

function touches(box: Box, outline: readonly Vec2[]): boolean {
  if (outline.some(([x, y]) => x > box.x0 && x < box.x1 && y > box.y0 && y < box.y1)) return true;
  for (let i = 0; i <= 6; i++)
    for (const y of [box.y0, (box.y0 + box.y1) / 2, box.y1])
      if (inside(outline, [box.x0 + ((box.x1 - box.x0) * i) / 6, y])) return true;
  return false;
}

/* The hull of points, counter-clockwise (Andrew's monotone chain). */
export function hull(points: readonly Vec2[]): Vec2[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly Vec2[]): Vec2[] => {
    const out: Vec2[] = [];
    for (const p of list) {
      while (out.length > 1) {
        const [a, b] = [out[out.length - 2], out[out.length - 1]];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    out.pop();
    return out;
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

/* How far below the block's middle each of its lines stands. */
export const rowOf = (i: number, many: number): number => (i + (1 - many) / 2) * ROW_PX;
const ROW_PX = 13;

export class Names {
  private readonly taken: Box[] = [];

  constructor(private readonly width: number) {}

  private isOnSheet = (b: Box): boolean => b.x0 >= 4 && b.x1 <= this.width - 4;

  /* Moved along its line until it is all on the sheet. */
  private clamp(word: string, size: number, p: Place): Place {
    const box = boxOf(word, size, p);
    const dx = Math.max(4 - box.x0, 0) - Math.max(box.x1 - this.width + 4, 0);
    return { at: [p.at[0] + dx, p.at[1]], anchor: p.anchor };
  }

  /* The first place that is free of words and of these outlines; `must`: the first of all if none is.  Null: it is left out. */
  put(word: string, size: number, places: readonly Place[], off: readonly Vec2[][], must = false): Place | null {
    const free = (must ? [...places, ...places.map((p) => this.clamp(word, size, p))] : places).find((p) => {
      const box = boxOf(word, size, p);
      return this.isOnSheet(box) && !this.taken.some((t) => overlap(t, box)) && !off.some((o) => touches(box, o));
    });
    const found = free ?? (must ? this.clamp(word, size, places[0]) : undefined);
    if (found) this.taken.push(boxOf(word, size, found));
    return found ?? null;
  }

  /* Words below one another, in the first place that is free of others; else in the first of all. */
  block(lines: readonly string[], size: number, places: readonly Vec2[]): Vec2 {
    const boxes = ([x, y]: Vec2): Box[] =>
      lines.map((l, i) => boxOf(l, size, { at: [x, y + rowOf(i, lines.length)], anchor: 'middle' }));
    const found = places.find((p) => !boxes(p).some((b) => this.taken.some((t) => overlap(t, b)))) ?? places[0];
    this.taken.push(...boxes(found));
    return found;
  }

  /* A mark that no word may stand on. */
  keep(at: Vec2, half: number): void {
    this.taken.push({ x0: at[0] - half, y0: at[1] - half, x1: at[0] + half, y1: at[1] + half });
  }
}
