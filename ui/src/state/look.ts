/* What can be looked at, and by which word it is chosen; how the address says it. */

export type SheetView =
  | 'apart'
  | 'plan'
  | 'model'
  | 'text'
  | 'week'
  | 'failures'
  | 'history'
  | 'readings'
  | 'ports'
  | 'matrix'
  | 'parts'
  | 'compare';
export type Side = 'promises' | 'change' | 'ask' | 'design' | 'install';
export type Quantity = 'none' | 'level' | 'rate' | 'second';

export interface Look {
  side: Side;
  view: SheetView;
  band: string;
  quantity: Quantity;
  floor: string;
  promise: string;
  section: string;
  item: string;
  hidden: string; /* floors that the 3-D view leaves out, with commas between */
  lifted: '' | 'lifted'; /* its storeys one on the other, or lifted apart */
  page: '' | 'list' | 'sheet'; /* which of the two a telephone shows; '' the list */
  availability: string; /* the field holds in this share of places; '' the usual */
  estimate: string; /* of wall losses; '' the house's */
  device: string; /* that hears the field; '' the usual */
  only: string; /* the field of one access point alone; '' of all */
  failure: string; /* `kind:id` of what has failed; '' nothing */
  tool: string; /* what the pointer does on the plan while the house is changed; '' chooses */
}

/* What the left side shows. */
export const SIDES: readonly { value: Side; word: string }[] = [
  { value: 'promises', word: 'promises' },
  { value: 'change', word: 'change' },
  { value: 'ask', word: 'ask' },
  { value: 'design', word: 'design' },
  { value: 'install', word: 'install' },
];

export const DRAWINGS: readonly { value: SheetView; word: string }[] = [
  { value: 'apart', word: 'floors apart' },
  { value: 'plan', word: 'plan' },
  { value: 'model', word: '3-D' },
];
/* What is told in rows and columns, in a quieter line of its own. */
export const TABLES: readonly { value: SheetView; word: string }[] = [
  { value: 'week', word: 'week' },
  { value: 'ports', word: 'ports' },
  { value: 'matrix', word: 'who may talk' },
  { value: 'failures', word: 'failures' },
  { value: 'parts', word: 'parts' },
  { value: 'readings', word: 'readings' },
  { value: 'text', word: 'text' },
  { value: 'history', word: 'history' },
  { value: 'compare', word: 'compare' },
];
export const VIEWS = [...DRAWINGS, ...TABLES];

export const QUANTITIES: readonly { value: Quantity; word: string }[] = [
  { value: 'level', word: 'level' },
  { value: 'rate', word: 'rate' },
  { value: 'second', word: 'second voice' },
  { value: 'none', word: 'lines only' },
];

/* The tools of the plan, in the order of the sheet's head.  The first is there always; the others where the left side is `change`.
   What each does is in view/tools. */
export const TOOLS = [
  { value: '', word: 'choose' },
  { value: 'picture', word: 'picture' },
  { value: 'wall', word: 'wall' },
  { value: 'door', word: 'door' },
  { value: 'window', word: 'window' },
  { value: 'passage', word: 'passage' },
  { value: 'room', word: 'room' },
  { value: 'floor', word: 'floor' },
  { value: 'hole', word: 'hole' },
  { value: 'roof', word: 'roof' },
  { value: 'obstacle', word: 'solid thing' },
  { value: 'run', word: 'cable way' },
  { value: 'mount', word: 'mount' },
  { value: 'equipment', word: 'equipment' },
  { value: 'device', word: 'device' },
  { value: 'line', word: 'line' },
] as const;
export type ToolName = (typeof TOOLS)[number]['value'];

/* ---- the address ---- */

/* Which house is open and how it is looked at stands in the address, so that a page can be opened again as it was. */
const KEYS: readonly (keyof Look)[] = [
  'side',
  'view',
  'band',
  'quantity',
  'floor',
  'promise',
  'section',
  'item',
  'tool',
  'page',
  'availability',
  'estimate',
  'device',
  'only',
  'failure',
  'hidden',
  'lifted',
];

/* What an address may say of these; another word, of an older page or mistyped, is told and gives way to the usual. */
const KNOWN: Partial<Record<keyof Look, readonly { value: string }[]>> = {
  side: SIDES,
  view: VIEWS,
  quantity: QUANTITIES,
  tool: TOOLS,
};

export interface Address {
  house: string; /* empty: none is open */
  look: Partial<Look>;
  told: string; /* what of it is not known here */
}

export function readAddress(): Address {
  const said = new URLSearchParams(location.hash.slice(1));
  const look: Partial<Look> = {};
  const strange: string[] = [];
  for (const key of KEYS) {
    const value = said.get(key);
    if (value === null) continue;
    if (KNOWN[key]?.some((k) => k.value === value) ?? true) (look as Record<string, string>)[key] = value;
    else strange.push(`${key} ${value}`);
  }
  const told = strange.length ? `There is no ${strange.join(', no ')}: the usual is shown` : '';
  return { house: said.get('house') ?? '', look, told };
}

export function writeAddress(house: string, look: Look): void {
  const q = new URLSearchParams({ house });
  for (const key of KEYS) if (look[key]) q.set(key, look[key]);
  history.replaceState(null, '', `#${q}`);
}
