import type { FieldGrid } from '../api/types';
import { cividis } from './colour';

/* Of a field's numbers to a picture of one pixel for each cell, and its scale. */

export interface Scale {
  from: number;
  to: number;
  unit: string;
  ticks: number[];
  name: string;
}

export const SCALES: Record<string, Scale> = {
  level: { from: -85, to: -35, unit: 'dBm', ticks: [-85, -75, -65, -55, -45, -35], name: 'level' },
  rate: { from: 0, to: 600, unit: 'Mb/s', ticks: [0, 150, 300, 450, 600], name: 'rate' },
  second: { from: -95, to: -45, unit: 'dBm', ticks: [-95, -85, -75, -65, -55, -45], name: 'second voice' },
};

/* Its colours, row after row from the south; what is not known has none. */
export function coloursOf(g: FieldGrid): Uint8ClampedArray {
  const scale = SCALES[g.quantity] ?? SCALES.level;
  const values = spread(g);
  const out = new Uint8ClampedArray(values.length * 4);
  values.forEach((v, i) => {
    if (!Number.isNaN(v)) out.set([...cividis((v - scale.from) / (scale.to - scale.from)), 255], i * 4);
  });
  return out;
}

const pictures = new WeakMap<FieldGrid, string>();

export function pictureOf(g: FieldGrid): string {
  const known = pictures.get(g);
  if (known) return known;
  const canvas = document.createElement('canvas');
  canvas.width = g.columns;
  canvas.height = g.rows;
  const pen = canvas.getContext('2d');
  if (!pen) return '';
  const image = pen.createImageData(g.columns, g.rows);
  const colours = coloursOf(g);
  const wide = g.columns * 4;
  for (let row = 0; row < g.rows; row++)
    /* pictures run from the north */
    image.data.set(colours.subarray(row * wide, (row + 1) * wide), (g.rows - 1 - row) * wide);
  pen.putImageData(image, 0, 0);
  const url = canvas.toDataURL('image/png');
  pictures.set(g, url);
  return url;
}

/* Cells beside known ones take their value, so that the smoothed picture does not fade at the walls; it is clipped there anyway. */
function spread(g: FieldGrid): Float32Array {
  let from = g.values;
  for (let pass = 0; pass < 2; pass++) {
    const to = Float32Array.from(from);
    for (let row = 0; row < g.rows; row++)
      for (let column = 0; column < g.columns; column++) {
        const i = row * g.columns + column;
        if (!Number.isNaN(from[i])) continue;
        let sum = 0,
          n = 0;
        for (let dy = -1; dy <= 1; dy++)
          for (let dx = -1; dx <= 1; dx++) {
            const x = column + dx,
              y = row + dy;
            if (x < 0 || y < 0 || x >= g.columns || y >= g.rows) continue;
            const v = from[y * g.columns + x];
            if (Number.isNaN(v)) continue;
            sum += v;
            n++;
          }
        if (n) to[i] = sum / n;
      }
    from = to;
  }
  return from;
}

/* The value of the cell that holds the spot; NaN outside. */
export function valueAt(g: FieldGrid, x: number, y: number): number {
  const column = Math.floor((x - g.x_m) / g.step_m),
    row = Math.floor((y - g.y_m) / g.step_m);
  if (column < 0 || row < 0 || column >= g.columns || row >= g.rows) return NaN;
  return g.values[row * g.columns + column];
}
