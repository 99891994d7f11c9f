/* Numbers as the reader of the page writes them.  Lengths come in metres from the server and are shown in metres or feet by
   choice; nothing else is converted. */

export type LengthUnit = 'm' | 'ft';
const FOOT_M = 0.3048; /* exact: the international yard of 1959 */
const INCH_M = FOOT_M / 12;

const locale = (): string | undefined =>
  navigator.languages[0]; /* how the reader writes numbers, whatever language the page is in */
const formats = new Map<string, Intl.NumberFormat>();

function format(least: number, most: number): Intl.NumberFormat {
  const key = `${locale()}|${least}|${most}`;
  let f = formats.get(key);
  if (!f) {
    f = new Intl.NumberFormat(locale(), { minimumFractionDigits: least, maximumFractionDigits: most });
    formats.set(key, f);
  }
  return f;
}

/* A true minus sign, as typeset figures want it. */
const minus = (text: string): string => text.replace(/^-/, '−');

export const number = (value: number, decimals = 1, least = 0): string => minus(format(least, decimals).format(value));

export const signed = (value: number, decimals = 1): string => (value > 0 ? '+' : '') + number(value, decimals);

/* Feet and inches, 8′ 2½″, by whole inches or by quarters of them; less than an inch in hundredths. */
function feetAndInches(metres: number, parts: 1 | 4, write: (v: number) => string): string {
  const far = Math.abs(metres) / INCH_M;
  const all = Math.round(far * parts);
  const sign = metres < 0 ? '−' : '';
  if (far < 1) return far < 0.005 ? '0′' : `${sign}${write(Math.round(far * 100) / 100)}″`;
  const feet = Math.floor(all / parts / 12);
  const inches = Math.floor(all / parts) % 12;
  const part = ['', '¼', '½', '¾'][all % parts];
  const small = inches || part ? `${inches || ''}${part}″` : '';
  return sign + [feet ? `${feet}′` : '', small].filter(Boolean).join('\u00a0');
}

export function length(metres: number, unit: LengthUnit, decimals = 2): string {
  return unit === 'm'
    ? `${number(metres, decimals)} m`
    : feetAndInches(metres, decimals < 2 ? 1 : 4, (v) => number(v, 2));
}

export const area = (m2: number, unit: LengthUnit): string =>
  unit === 'm' ? `${number(m2, 1)} m²` : `${number(m2 / FOOT_M ** 2, 0)} ft²`;

/* A length as it stands in a field: `readLength` knows it again. */
export const typedLength = (metres: number, unit: LengthUnit): string =>
  unit === 'm' ? String(Math.round(metres * 1e4) / 1e4) : feetAndInches(metres, 4, String);

/* What is being typed, with the unit that is meant unless it is named. */
export const withUnit = (typed: string, unit: LengthUnit): string =>
  /['"′″]/.test(typed) ? typed : `${typed} ${unit}`;

export const perMetre = (unit: LengthUnit): number => (unit === 'm' ? 1 : 1 / FOOT_M);

export function time(seconds: number): string {
  const at = new Date(seconds * 1000);
  const today = new Date().toDateString() === at.toDateString();
  const clock = at.toLocaleTimeString(locale(), { hour: '2-digit', minute: '2-digit' });
  return today ? `today ${clock}` : `${at.toLocaleDateString(locale(), { day: 'numeric', month: 'short' })} ${clock}`;
}

/* A number as a person types it: with a comma or a point, a true minus sign or a hyphen; null: it is none. */
export function readNumber(text: string): number | null {
  const t = text
    .trim()
    .replace(/[−–]/, '-')
    .replace(/\s|\u00a0|\u202f/g, '')
    .replace(',', '.');
  return t !== '' && Number.isFinite(Number(t)) ? Number(t) : null;
}

const toMillimetre = (m: number): number => Math.round(m * 1000) / 1000;

/* One way of writing what people write in many: marks, signs, and fractions (½, 2 1/2) as decimals. */
const plainly = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replace(/[−–]/g, '-')
    .replace(/[′’‘]/g, "'")
    .replace(/[″“”]|''/g, '"')
    .replace(/[¼-¾⅐-⅞]/g, (c) => ` ${c.normalize('NFKD').replace('⁄', '/')}`)
    .replace(/(?:(\d+)\s+)?(\d+)\/([1-9]\d*)/g, (_all, whole: string | undefined, over: string, under: string) =>
      String(Number(whole ?? 0) + Number(over) / Number(under)),
    );

/* A length as a person types it, in metres; null: it is none.  A number alone is in the unit that lengths are shown in; what names its
   unit may be in any: 6'2", 6 ft 2 1/2 in, 74 in, 1.88 m, 188 cm.  What is converted is rounded to the millimetre; but what is typed as
   one of `known` is shown is that one, unrounded. */
export function readLength(text: string, unit: LengthUnit, known: readonly number[] = []): number | null {
  const read = readAnew(text, unit);
  return read === null ? null : (known.find((k) => readAnew(typedLength(k, unit), unit) === read) ?? read);
}

function readAnew(text: string, unit: LengthUnit): number | null {
  const t = plainly(text)
    .replace(/\s*(feet|foot|ft)\.?\s*/, "'")
    .replace(/\s*(inches|inch|in)\.?$/, '"');
  if (/^-?[\d.,]+$/.test(t)) {
    const n = readNumber(t);
    return n === null || unit === 'm' ? n : toMillimetre(n * FOOT_M);
  }
  const metric = /^(-?[\d.,]+)\s*(mm|cm|m)$/.exec(t);
  if (metric) {
    const n = readNumber(metric[1]);
    return n === null ? null : toMillimetre(n * { mm: 0.001, cm: 0.01, m: 1 }[metric[2] as 'mm' | 'cm' | 'm']);
  }
  const parts = /^(-?)(?:([\d.,]+)')?\s*(?:([\d.,]+)("?))?$/.exec(t);
  if (!parts || !(parts[2] || parts[4])) return null;
  const [feet, inches] = [readNumber(parts[2] ?? '0'), readNumber(parts[3] ?? '0')];
  if (feet === null || inches === null) return null;
  return toMillimetre((parts[1] ? -1 : 1) * (feet + inches / 12) * FOOT_M);
}

/* Several of them, parted by blanks. */
export const readLengths = (text: string, unit: LengthUnit): (number | null)[] =>
  plainly(text)
    .replace(/'\s+(?=[\d.,]+(?![\d.,']))/g, "'")
    .split(/\s+/)
    .map((t) => readLength(t, unit));

/* An id as words. */
export const words = (id: string): string => id.replace(/_/g, ' ');

/* A key of the model with its unit apart: `level_dbm` -> level, dBm. */
const UNITS: [string, string][] = [
  ['_dbm', 'dBm'],
  ['_dbi', 'dBi'],
  ['_db', 'dB'],
  ['_mbps', 'Mb/s'],
  ['_mhz', 'MHz'],
  ['_ghz', 'GHz'],
  ['_mm2', 'mm²'],
  ['_deg', '°'],
  ['_degc', '°C'],
  ['_kwh', 'kWh'],
  ['_wh', 'Wh'],
  ['_ms', 'ms'],
  ['_gb', 'GB'],
  ['_tb', 'TB'],
  ['_px', 'px'],
  ['_m', 'm'],
  ['_w', 'W'],
  ['_v', 'V'],
  ['_a', 'A'],
  ['_s', 's'],
];

export function label(key: string): { name: string; unit: string } {
  for (const [ending, unit] of UNITS)
    if (key.endsWith(ending) && key.length > ending.length) return { name: words(key.slice(0, -ending.length)), unit };
  return { name: words(key), unit: '' };
}
