import { fetchRaw, getJson, query, Refused } from '../api/client';
import type { FieldGrid, Vec2 } from '../api/types';

/* Fields as the server sends them: a head of 64 bytes, then a number for each node (docs/api.md). */

const HEAD_BYTES = 64;

export function readField(bytes: ArrayBuffer, floor: string, band: string, quantity: string): FieldGrid | null {
  const v = new DataView(bytes);
  if (bytes.byteLength < HEAD_BYTES || v.getUint32(0, false) !== 0x52544644 || v.getUint32(4, true) !== 1) return null;
  const head = v.getUint32(8, true),
    columns = v.getUint32(12, true),
    rows = v.getUint32(16, true),
    step_m = v.getFloat64(24, true);
  if (bytes.byteLength < head + 4 * columns * rows) return null;
  const values = new Float32Array(columns * rows);
  for (let i = 0; i < values.length; i++) values[i] = v.getFloat32(head + 4 * i, true);
  /* a node is the middle of its cell */
  return {
    floor,
    band,
    quantity,
    x_m: v.getFloat64(32, true) - step_m / 2,
    y_m: v.getFloat64(40, true) - step_m / 2,
    step_m,
    columns,
    rows,
    values,
  };
}

export interface Contour {
  level: number;
  line: Vec2[];
  is_promised: boolean;
}

/* Which field: as the server's query has it; what is left out is the usual. */
export interface FieldAsk {
  what: string;
  floor: string;
  band: string;
  availability?: string;
  estimate?: string;
  device?: string;
  only?: string; /* one access point alone */
  failed?: string; /* what is left after this failure */
}

export class FieldStore {
  private readonly kept = new Map<string, FieldGrid | Contour[]>();
  private state = '';

  private forget(state: string): void {
    if (state === this.state) return;
    this.kept.clear();
    this.state = state;
  }

  async field(house: string, state: string, ask: FieldAsk, quick = false): Promise<FieldGrid | null> {
    this.forget(state);
    const key = `${query({ ...ask })}${quick ? '|quick' : ''}`;
    const known = this.kept.get(key);
    if (known) return known as FieldGrid;
    const q = query({ ...ask, quick: quick ? 'yes' : undefined });
    const response = await fetchRaw('GET', `${house}/field?${q}`);
    const grid = readField(await response.arrayBuffer(), ask.floor, ask.band, ask.what);
    if (grid && state === this.state) this.kept.set(key, grid);
    return grid;
  }

  async contours(house: string, state: string, ask: FieldAsk): Promise<Contour[]> {
    this.forget(state);
    const key = `lines|${query({ ...ask })}`;
    const known = this.kept.get(key);
    if (known) return known as Contour[];
    try {
      const { body } = await getJson<{ lines: Contour[] }>(`${house}/field/contours?${query({ ...ask })}`);
      if (state === this.state) this.kept.set(key, body.lines);
      return body.lines;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      return []; /* the painted field says the same without lines */
    }
  }
}
