/* Lengths as people type them.  Expected: by hand, from the international foot of exactly 0.3048 m (NIST Handbook 44, appendix C) and
   its twelfth, rounded to the millimetre. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { ROOT, done, equal } from './kit.mjs';

const { transformSync } = createRequire(join(ROOT, 'ui/package.json'))('esbuild');
const { code } = transformSync(readFileSync(join(ROOT, 'ui/src/units.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
const { readLength, readLengths, toMetres } = await import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);

const CASES = [
  ["6'2\"", 'ft', 1.88],
  ['6′ 2″', 'ft', 1.88],
  ['6 ft 2 in', 'ft', 1.88],
  ['6ft2', 'ft', 1.88],
  ['74 in', 'ft', 1.88],
  ['74"', 'm', 1.88],
  ['6 ft 2 1/2 in', 'ft', 1.892],
  ['6.5', 'ft', 1.981],
  ['6,5', 'ft', 1.981],
  ['6.5 ft', 'm', 1.981],
  ["-3'", 'ft', -0.914],
  ['-3\'6"', 'ft', -1.067],
  ['2.4', 'm', 2.4],
  ['2,4', 'm', 2.4],
  ['−2,4', 'm', -2.4],
  ['0.0125', 'm', 0.0125],
  ['188 cm', 'ft', 1.88],
  ['1880mm', 'm', 1.88],
  ['1,88 m', 'ft', 1.88],
  ['', 'm', null],
  ['six', 'ft', null],
  ["'", 'ft', null],
  ['6 2', 'ft', null],
  ['6 m 2', 'm', null],
  ['1.2.3', 'm', null],
];
for (const [text, unit, wanted] of CASES) equal(readLength(text, unit), wanted, `${JSON.stringify(text)} where lengths are in ${unit}`);
equal(JSON.stringify(readLengths('6\' 2" 3\'', 'ft')), '[1.88,0.914]', 'two of them');
equal(JSON.stringify(readLengths('3 -4,5', 'm')), '[3,-4.5]', 'and two in metres');
/* converted back, what was stored is what was typed, to half a millimetre */
for (let inches = 1; inches < 400; inches += 7) {
  const stored = readLength(`${Math.floor(inches / 12)}'${inches % 12}"`, 'ft');
  if (Math.abs(stored - toMetres(inches / 12, 'ft')) > 0.000501) equal(stored, toMetres(inches / 12, 'ft'), `${inches} inches`);
}
done();
