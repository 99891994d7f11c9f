/* Two texts made of one, put together line by line.  From outside: git merge-file, which never puts together what it is not sure of, so
   that whatever it joins we join alike; else by properties that hold whatever the texts are.  RT_TEST_SEED sets the seed. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT, check, done, equal } from './kit.mjs';

const { transformSync } = createRequire(join(ROOT, 'ui/package.json'))('esbuild');
const { code } = transformSync(readFileSync(join(ROOT, 'ui/src/state/lines.ts'), 'utf8'), {
  loader: 'ts',
  format: 'esm',
});
const { conflicts, joined, lineAfter, linesOf, merge, taken } = await import(
  `data:text/javascript;base64,${Buffer.from(code).toString('base64')}`
);

const seed = Number(process.env.RT_TEST_SEED ?? 20261126);
console.log(`seed ${seed}`);
let state = seed >>> 0;
/* xorshift32: G. Marsaglia, Xorshift RNGs, 2003 */
function below(n) {
  state ^= state << 13;
  state ^= state >>> 17;
  state ^= state << 5;
  state >>>= 0;
  return state % n;
}

/* ---- by hand ---- */
const ROWS = [
  /* what, base, mine, theirs, joined (null: conflict) */
  ['nobody changed anything', 'a\nb\n', 'a\nb\n', 'a\nb\n', 'a\nb\n'],
  ['only mine', 'a\nb\nc', 'a\nB\nc', 'a\nb\nc', 'a\nB\nc'],
  ['only theirs', 'a\nb\nc', 'a\nb\nc', 'a\nb\nC', 'a\nb\nC'],
  ['two lines that touch', 'a\nb\nc', 'A\nb\nc', 'a\nB\nc', 'A\nB\nc'],
  ['one adds above, one below', 'a\nb\nc', '0\na\nb\nc', 'a\nb\nc\nd', '0\na\nb\nc\nd'],
  ['one takes away, one adds elsewhere', 'a\nb\nc\nd', 'b\nc\nd', 'a\nb\nc\nd\ne', 'b\nc\nd\ne'],
  ['both alike', 'a\nb\nc', 'a\nX\nc', 'a\nX\nc', 'a\nX\nc'],
  ['the same line', 'a\nb\nc', 'a\nX\nc', 'a\nY\nc', null],
  ['both add at one place', 'a\nb', 'a\nX\nb', 'a\nY\nb', null],
  ['one changes what the other takes away', 'a\nb\nc', 'a\nX\nc', 'a\nc', null],
  ['one adds behind what the other changes', 'a\nb\nc', 'a\nX\nc', 'a\nb\nY\nc', null],
  ['from nothing', '', 'a', '', 'a'],
];
for (const [what, base, mine, theirs, want] of ROWS) {
  const c = merge(base, mine, theirs);
  equal(conflicts(c).length ? null : joined(c), want, what);
}
const open = merge('a\nb\nc\nd', 'a\nX\nc\nd', 'a\nY\nc\nD');
equal(joined(open, ['mine']), 'a\nX\nc\nD', 'a conflict, mine');
equal(joined(open, ['theirs']), 'a\nY\nc\nD', 'theirs');
equal(joined(open, ['each']), 'a\nX\nY\nc\nD', 'each, mine first');
equal(JSON.stringify(taken(open)), JSON.stringify([{ line: 4, n: 1 }]), 'what was taken of theirs, and where');
equal(lineAfter(merge('a\nb', 'a\nb', '0\n1\na\nb'), 1), 3, 'where a line of mine stands then');

/* ---- properties ---- */
const text = (lines) => lines.join('\n');
/* Lines that are all different, or from few words, so that many are alike. */
const lines = (n, words) => Array.from({ length: n }, (_, i) => (words ? `w${below(words)}` : `line ${i}`));
let fresh = 0;
/* A few lines changed, taken away or added. */
function edited(of, words) {
  const out = [...of];
  for (let i = below(5); i > 0; i--) {
    const at = below(out.length + 1);
    const gone = below(3);
    out.splice(at, gone, ...Array.from({ length: below(3) }, () => (words ? `w${below(words)}` : `new ${fresh++}`)));
  }
  return out;
}
const mirrored = (c) =>
  c.map(({ kind, base, mine, theirs }) => ({
    kind: kind === 'mine' ? 'theirs' : kind === 'theirs' ? 'mine' : kind,
    base,
    mine: theirs,
    theirs: mine,
  }));

const failed = { whole: 0, mirrored: 0, identity: 0 };
for (let i = 0; i < 3000; i++) {
  const words = i % 2 ? 0 : 1 + below(6);
  const base = lines(below(30), words);
  const [mine, theirs] = [edited(base, words), edited(base, words)];
  const [b, m, t] = [base, mine, theirs].map(text);
  const c = merge(b, m, t);
  const sides = ['base', 'mine', 'theirs'].map((k) => text(c.flatMap((x) => x[k])));
  if (sides[0] !== b || sides[1] !== m || sides[2] !== t) failed.whole++;
  if (JSON.stringify(mirrored(c)) !== JSON.stringify(merge(b, t, m))) failed.mirrored++;
  if (joined(merge(b, m, b)) !== m || joined(merge(b, b, t)) !== t || joined(merge(b, m, m)) !== m) failed.identity++;
}
equal(failed.whole, 0, 'the chunks make up the base, mine and theirs, every line once, 3000 times');
equal(failed.mirrored, 0, 'seen from the other side it is the same with sides changed');
equal(failed.identity, 0, 'who alone changed something gets it whole, and so do two who changed the same');

/* Changes of different lines: each is there, applied by their places and not by any search. */
let apart = 0;
for (let i = 0; i < 2000; i++) {
  const base = lines(4 + below(40), 0);
  const [mine, theirs, both] = [[], [], []];
  let last = '';
  for (const line of base) {
    const who = below(6);
    const deed = below(3);
    const is = deed === 0 ? [] : deed === 1 ? [`new ${fresh++}`] : [`new ${fresh++}`, `new ${fresh++}`];
    /* an unchanged line between them, so that nothing touches */
    const by = last === '' && who < 2 ? (who === 0 ? 'mine' : 'theirs') : '';
    mine.push(...(by === 'mine' ? is : [line]));
    theirs.push(...(by === 'theirs' ? is : [line]));
    both.push(...(by ? is : [line]));
    last = by;
  }
  const c = merge(text(base), text(mine), text(theirs));
  if (conflicts(c).length || joined(c) !== text(both)) apart++;
}
equal(apart, 0, 'changes of different lines are both made, 2000 times');

/* ---- from outside ---- */
const folder = mkdtempSync(join(tmpdir(), 'rooftree-lines-'));
const file = (name) => join(folder, name);
let [clean, other, held] = [0, 0, 0];
for (let i = 0; i < 150; i++) {
  const base = lines(5 + below(40), 0);
  const three = { mine: edited(base, 0), base, theirs: edited(base, 0) };
  for (const [name, of] of Object.entries(three)) writeFileSync(file(name), of.map((l) => `${l}\n`).join(''));
  const git = spawnSync('git', ['merge-file', '-p', file('mine'), file('base'), file('theirs')], { encoding: 'utf8' });
  if (git.error) {
    console.log('skipped: what git merge-file says; install the package git');
    break;
  }
  const c = merge(...['base', 'mine', 'theirs'].map((name) => readFileSync(file(name), 'utf8')));
  if (git.status !== 0) held++;
  else if (conflicts(c).length || joined(c) !== git.stdout) other++;
  else clean++;
}
rmSync(folder, { recursive: true });
equal(other, 0, `what git merge-file joins (${clean} of ${clean + held}) is joined alike`);

/* ---- large ones ---- */
const [large, turned] = [lines(20000, 0), lines(20000, 0).reverse()];
const changed = [...large.slice(0, 9000), 'x', ...large.slice(9001)];
equal(
  joined(merge(text(large), text(changed), text([...large, 'end']))),
  text([...changed, 'end']),
  'twenty thousand lines',
);
const much = merge(text(large), text(turned), text(changed));
check(
  conflicts(much).length > 0 && text(much.flatMap((x) => linesOf({ ...x, kind: 'mine' }))) === text(turned),
  'nothing in common: told, and nothing is lost',
);
done();
