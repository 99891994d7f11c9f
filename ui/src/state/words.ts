import { getJson } from '../api/client';
import type { Words } from '../api/types';

/* Names that the program knows without being told: asked for once, when the page begins. */
let known: Words = { constructs: [], device_kinds: [], services: [] };

export async function readWords(): Promise<void> {
  known = (await getJson<Words>('/api/words')).body;
}

const names = (list: { name: string }[]): string[] => list.map((x) => x.name);

export const builtInConstructs = (): string[] => names(known.constructs);
export const services = (): string[] => names(known.services);
export const deviceKinds = (withRadio = false): string[] =>
  names(known.device_kinds.filter((k) => k.has_radio || !withRadio));
