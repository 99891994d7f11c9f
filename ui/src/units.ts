/* Numbers as the reader of the page writes them.  Lengths come in metres from the server and are shown in metres or feet by
   choice; nothing else is converted. */

export type LengthUnit = 'm' | 'ft';
const FOOT_M = 0.3048; /* exact: the international yard of 1959 */

const locale = (): string | undefined => navigator.languages[0]; /* how the reader writes numbers, whatever language the page is in */
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

export function length(metres: number, unit: LengthUnit, decimals = 2): string {
  return unit === 'm' ? `${number(metres, decimals)} m` : `${number(metres / FOOT_M, 1)} ft`;
}

export const toMetres = (value: number, unit: LengthUnit): number => (unit === 'm' ? value : value * FOOT_M);
export const fromMetres = (metres: number, unit: LengthUnit): number => (unit === 'm' ? metres : metres / FOOT_M);
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

/* A length as a person types it, in metres; null: it is none.  A number alone is in the unit that lengths are shown in; what names its
   unit may be in any: 6'2", 6 ft 2 1/2 in, 74 in, 1.88 m, 188 cm.  What is converted is rounded to the millimetre. */
export function readLength(text: string, unit: LengthUnit): number | null {
  const t = text
    .trim()
    .toLowerCase()
    .replace(/[−–]/g, '-')
    .replace(/[′’‘]/g, "'")
    .replace(/[″“”]|''/g, '"')
    .replace(/(\d+)\s+(\d+)\/([1-9]\d*)/, (_all, whole: string, over: string, under: string) =>
      String(Number(whole) + Number(over) / Number(under)),
    )
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
  text
    .trim()
    .replace(/(['′])\s+(?=\d)/g, '$1')
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
