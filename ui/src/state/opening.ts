import { House } from './house';
import { readAddress, type Address } from './look';

/* A house on its way: asked for as soon as the address says which, so that its answers come while the views are still being read. */

export interface Opening {
  house: House;
  loaded: Promise<void>;
}

let begun: Opening | null = null;

function open(address: Address): Opening {
  const house = new House(address.house);
  Object.assign(house.look, address.look);
  house.said = address.told;
  const loaded = house.load();
  loaded.catch(() => undefined); /* told where it is waited for */
  return { house, loaded };
}

export function beginOpening(): void {
  const address = readAddress();
  if (address.house) begun = open(address);
}

/* What was begun, once; another house is opened anew. */
export function opening(address: Address): Opening {
  const is = begun?.house.name === address.house ? begun : open(address);
  Object.assign(is.house.look, address.look); /* the address may be another than when it was begun */
  begun = null;
  return is;
}
