/* Lines and corners in the pixels of a picture: found where they were drawn, to less than a pixel; none where there is none.
   From outside: the pictures are painted here, by how much of each pixel (16 places in it) lies in a stroke of known ends and thickness,
   with noise on top. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { ROOT, check, done, equal } from './kit.mjs';

const { transformSync } = createRequire(join(ROOT, 'ui/package.json'))('esbuild');
const { code } = transformSync(readFileSync(join(ROOT, 'ui/src/draw/ink.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
const { halved, inkNear } = await import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);

let seed = 11;
const random = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
const SIZE = 300;

/* Strokes as [from, to, thickness]; ink of 200 on paper of 20, of 255. */
function painted(strokes, noise) {
  const isInk = (x, y) =>
    strokes.some(([[ax, ay], [bx, by], thick]) => {
      const [dx, dy] = [bx - ax, by - ay];
      const long = Math.hypot(dx, dy);
      const along = ((x - ax) * dx + (y - ay) * dy) / long;
      return along >= -thick / 2 && along <= long + thick / 2 && Math.abs((x - ax) * dy - (y - ay) * dx) / long <= thick / 2;
    });
  const dark = new Uint8Array(SIZE * SIZE);
  for (let y = 0; y < SIZE; y++)
    for (let x = 0; x < SIZE; x++) {
      let ink = 0;
      for (let k = 0; k < 16; k++) if (isInk(x + ((k & 3) + 0.5) / 4, y + ((k >> 2) + 0.5) / 4)) ink++;
      dark[y * SIZE + x] = Math.min(Math.max((ink / 16) * 200 + 20 + noise * (random() - 0.5), 0), 255);
    }
  return halved(SIZE, SIZE, dark);
}

const worst = { line: 0, corner: 0 };
const counted = { looks: 0, missed: 0, wrong: 0 };
for (const thick of [1, 2, 3, 6, 14, 30])
  for (const form of ['line', 'end to end', 'end to side', 'crossing'])
    for (let k = 0; k < 4; k++) {
      const turn = k ? random() * Math.PI : 0;
      const at = [150 + random() * 2, 150 + random() * 2];
      const [c, s] = [Math.cos(turn), Math.sin(turn)];
      const one = (from, to) => [[at[0] + from * c, at[1] + from * s], [at[0] + to * c, at[1] + to * s], thick];
      const other = (from, to) => [[at[0] - from * s, at[1] + from * c], [at[0] - to * s, at[1] + to * c], thick];
      const raster = painted(
        { line: [one(-200, 200)], 'end to end': [one(0, 200), other(0, 200)], 'end to side': [one(-200, 200), other(0, 200)], crossing: [one(-200, 200), other(-200, 200)] }[form],
        30,
      );
      for (let look = 0; look < 3; look++) {
        const spot = at.map((v) => v + (random() - 0.5) * 14);
        const { strokes, corners } = inkNear(raster, spot, 15, 60);
        counted.looks++;
        if (form === 'line') {
          if (corners.length) counted.wrong++;
          if (!strokes.length) counted.missed++;
          else worst.line = Math.max(worst.line, Math.abs((strokes[0].at[1] - at[1]) * c - (strokes[0].at[0] - at[0]) * s));
        } else if (!corners.length) counted.missed++;
        else worst.corner = Math.max(worst.corner, Math.hypot(corners[0][0] - at[0], corners[0][1] - at[1]));
      }
    }
equal(counted.looks, 288, 'so often it was looked');
equal(counted.missed, 0, 'every line and corner is found');
equal(counted.wrong, 0, 'a line alone has no corner');
check(worst.line < 0.5, `lines within half a pixel: ${worst.line.toFixed(2)}`);
check(worst.corner < 1, `corners within a pixel: ${worst.corner.toFixed(2)}`);

/* ---- where there is nothing ---- */
const none = (raster, spot, says, within = 15) => {
  const { strokes, corners } = inkNear(raster, spot, within, 60);
  equal(`${strokes.length} ${corners.length}`, '0 0', says);
};
none(painted([], 30), [150, 150], 'paper with noise has no line');
none(painted([[[0, 150], [300, 150], 3]], 10), [150, 190], 'a line farther away than is asked is none');
none(painted([[[0, 150], [300, 150], 120]], 10), [150, 150], 'an area thicker than any wall is no line');
none(painted([[[0, 150], [300, 150], 3]], 0), [-40, -40], 'beside the picture is nothing');
const gap = painted([[[0, 100], [300, 100], 5], [[150, 112], [150, 300], 5]], 10);
equal(inkNear(gap, [150, 104], 10, 60).corners.length, 0, 'a line that ends before the other makes no corner with it');
done();
