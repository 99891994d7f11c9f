/* Two texts made of one, line by line, put together again: where only one of them changed something it is taken; where both changed the
   same lines otherwise, or wrote at the same place, somebody must choose.

   What each changed is the shortest way from the base to it (E. W. Myers, An O(ND) difference algorithm and its variations, 1986). */

export type Kind = 'same' | 'mine' | 'theirs' | 'both' | 'conflict'; /* who changed it; both: alike */

export interface Chunk {
  kind: Kind;
  base: string[];
  mine: string[];
  theirs: string[];
}

/* Lines from..to of the base became lines by[0]..by[1] of the other. */
interface Hunk {
  from: number;
  to: number;
  by: [number, number];
}

const EDITS_MOST = 3000; /* beyond it the texts have little in common, and the rest counts as one change */

/* Where the two are the same, as pairs of line numbers, on the shortest way between them. */
function matches(a: string[], b: string[]): [number, number][] | null {
  const most = Math.min(a.length + b.length, EDITS_MOST);
  const trace: Int32Array[] = [];
  const furthest = new Int32Array(2 * most + 3); /* x by diagonal, which is x less y */
  const middle = most + 1;
  for (let d = 0; d <= most; d++) {
    trace.push(furthest.slice(middle - d - 1, middle + d + 2));
    for (let k = -d; k <= d; k += 2) {
      const down = k === -d || (k !== d && furthest[middle + k - 1] < furthest[middle + k + 1]);
      let x = down ? furthest[middle + k + 1] : furthest[middle + k - 1] + 1;
      while (x < a.length && x - k < b.length && a[x] === b[x - k]) x++;
      furthest[middle + k] = x;
      if (x >= a.length && x - k >= b.length) return backwards(trace, a.length, b.length);
    }
  }
  return null;
}

function backwards(trace: Int32Array[], n: number, m: number): [number, number][] {
  const found: [number, number][] = [];
  let [x, y] = [n, m];
  for (let d = trace.length - 1; d > 0; d--) {
    const before = trace[d]; /* of the step before, its diagonal 0 in the middle */
    const at = (k: number): number => before[k + d + 1];
    const k = x - y;
    const down = k === -d || (k !== d && at(k - 1) < at(k + 1));
    const fromX = down ? at(k + 1) : at(k - 1);
    const fromY = fromX - (down ? k + 1 : k - 1);
    while (x > fromX && y > fromY) found.push([--x, --y]);
    [x, y] = [fromX, fromY];
  }
  while (x > 0 && y > 0) found.push([--x, --y]);
  return found.reverse();
}

function hunks(base: string[], other: string[]): Hunk[] {
  const out: Hunk[] = [];
  let head = 0;
  while (head < base.length && head < other.length && base[head] === other[head]) head++;
  let tail = 0;
  const least = Math.min(base.length, other.length) - head;
  while (tail < least && base[base.length - 1 - tail] === other[other.length - 1 - tail]) tail++;
  const same = matches(base.slice(head, base.length - tail), other.slice(head, other.length - tail)) ?? [];
  let [i, j] = [head, head];
  for (const [x, y] of [...same.map(([p, q]) => [p + head, q + head]), [base.length - tail, other.length - tail]]) {
    if (x > i || y > j) out.push({ from: i, to: x, by: [j, y] });
    [i, j] = [x + 1, y + 1];
  }
  return out;
}

/* Whether two changes are of the same lines, or one of them writes where the other ends or begins. */
function meet(x: { from: number; to: number }, y: { from: number; to: number }): boolean {
  if (x.from === x.to || y.from === y.to) return x.from <= y.to && y.from <= x.to;
  return x.from < y.to && y.from < x.to;
}

/* What became of lines from..to of the base: their changes lie within. */
function slice(base: string[], other: string[], of: Hunk[], from: number, to: number): string[] {
  if (!of.length) return base.slice(from, to);
  const last = of[of.length - 1];
  return other.slice(of[0].by[0] - (of[0].from - from), last.by[1] + (to - last.to));
}

const alike = (a: string[], b: string[]): boolean => a.length === b.length && a.every((line, i) => line === b[i]);

export function merge(baseText: string, mineText: string, theirsText: string): Chunk[] {
  const [base, mine, theirs] = [baseText, mineText, theirsText].map((t) => t.split('\n'));
  const [a, b] = [hunks(base, mine), hunks(base, theirs)];
  const out: Chunk[] = [];
  let [i, j, at] = [0, 0, 0];
  const unchanged = (to: number): void => {
    const lines = base.slice(at, to);
    if (lines.length) out.push({ kind: 'same', base: lines, mine: lines, theirs: lines });
    at = to;
  };
  while (i < a.length || j < b.length) {
    const first = j >= b.length || (i < a.length && a[i].from <= b[j].from) ? a[i] : b[j];
    const all = { from: first.from, to: first.to };
    const [ofMine, ofTheirs]: [Hunk[], Hunk[]] = [[], []];
    for (;;) {
      const next = i < a.length && meet(a[i], all) ? a[i] : j < b.length && meet(b[j], all) ? b[j] : null;
      if (!next) break;
      if (next === a[i]) ofMine.push(a[i++]);
      else ofTheirs.push(b[j++]);
      all.from = Math.min(all.from, next.from);
      all.to = Math.max(all.to, next.to);
    }
    unchanged(all.from);
    const chunk = {
      base: base.slice(all.from, all.to),
      mine: slice(base, mine, ofMine, all.from, all.to),
      theirs: slice(base, theirs, ofTheirs, all.from, all.to),
    };
    const who = !ofTheirs.length
      ? 'mine'
      : !ofMine.length
        ? 'theirs'
        : alike(chunk.mine, chunk.theirs)
          ? 'both'
          : 'conflict';
    out.push({ kind: who, ...chunk });
    at = all.to;
  }
  unchanged(base.length);
  return out;
}

export type Choice = 'mine' | 'theirs' | 'each'; /* each: mine, then theirs */

/* The lines that a chunk comes to; of a conflict by the choice that was made, mine until then. */
export function linesOf(c: Chunk, choice: Choice = 'mine'): string[] {
  if (c.kind !== 'conflict') return c.kind === 'theirs' ? c.theirs : c.mine;
  return choice === 'each' ? [...c.mine, ...c.theirs] : c[choice];
}

export const conflicts = (chunks: Chunk[]): Chunk[] => chunks.filter((c) => c.kind === 'conflict');

/* The whole, with one choice for each conflict in order. */
export function joined(chunks: Chunk[], choices: readonly Choice[] = []): string {
  let n = 0;
  return chunks.flatMap((c) => linesOf(c, c.kind === 'conflict' ? choices[n++] : 'mine')).join('\n');
}

/* Where a line of mine stands in the whole, counted from 0. */
export function lineAfter(chunks: Chunk[], line: number): number {
  let [was, is] = [0, 0];
  for (const c of chunks) {
    if (line < was + c.mine.length) return is + Math.min(line - was, Math.max(linesOf(c).length - 1, 0));
    was += c.mine.length;
    is += linesOf(c).length;
  }
  return Math.max(is - 1, 0);
}

/* Where what only they changed stands in the whole: the first line, counted from 1, and how many; 0: some went. */
export function taken(chunks: Chunk[]): { line: number; n: number }[] {
  const out: { line: number; n: number }[] = [];
  let line = 1;
  for (const c of chunks) {
    if (c.kind === 'theirs') out.push({ line, n: c.theirs.length });
    line += linesOf(c).length;
  }
  return out;
}
