import { fetchRaw, getJson, query, Refused } from '../api/client';
import type { DrawnFloor, Vec2 } from '../api/types';
import { inkNear, type Raster } from '../draw/ink';
import { fitted, toPixel, toPlace, type Placing } from '../draw/placing';
import { grow, NOTHING } from '../draw/projection';
import { addInk, type Targets } from '../draw/snap';
import type { House } from './house';
import { rasterOf } from './raster';

/* Pictures of plans that lie under the plan while it is traced: kept by the server, no part of the house. */

export interface PlanPicture {
  picture: number;
  floor: string;
  kind: string;
  width_px: number;
  height_px: number;
  page: number;
  pages: number;
  m_per_px: number | null; /* this and the three below: null until it is set to scale */
  turn_deg: number | null;
  x_m: number | null;
  y_m: number | null;
  opacity: number;
}

export type PictureChange = Partial<Placing & { opacity: number; page: number; floor: string }>;

const WALL_M = 0.5; /* what is dark and wider is no line */

export class Pictures {
  list: PlanPicture[] = [];
  trying: { picture: number; placing: Placing } | null = null; /* a place that is not kept yet */

  inked = 0; /* how many were read so far: each time there is more to fall on */
  private readonly rasters = new Map<string, Raster | null>(); /* null: still being read */

  constructor(private readonly house: House) {}

  private get path(): string {
    return `${this.house.path}/pictures`;
  }

  on(floor: string): PlanPicture[] {
    return this.list.filter((p) => p.floor === floor);
  }

  isPlaced(p: PlanPicture): boolean {
    return p.m_per_px !== null;
  }

  /* How it lies: as is being tried, as it was set, or, if it never was, over the floor. */
  placing(p: PlanPicture, floor: DrawnFloor): Placing {
    if (this.trying?.picture === p.picture) return this.trying.placing;
    const { m_per_px, turn_deg, x_m, y_m } = p;
    if (m_per_px !== null && turn_deg !== null && x_m !== null && y_m !== null) return { m_per_px, turn_deg, x_m, y_m };
    return fitted(
      p.width_px,
      p.height_px,
      floor.outline.reduce((b, q) => grow(b, q), NOTHING),
    );
  }

  address(p: PlanPicture): string {
    return `${this.path}/${p.picture}?${query({ page: p.page })}`; /* the page: another picture under the same number */
  }

  /* To what can be fallen on near a place, the dark lines and corners of a floor's pictures. */
  withInk(targets: Targets, floor: DrawnFloor, at: Vec2, within_m: number, all = this.on(floor.id)): Targets {
    for (const p of all) {
      const [placing, raster] = [this.placing(p, floor), this.raster(p)];
      const size = placing.m_per_px;
      if (!raster) continue;
      const { strokes, corners } = inkNear(raster, toPixel(placing, at), within_m / size, WALL_M / size);
      const place = (q: Vec2): Vec2 => toPlace(placing, q);
      const reach = (2 * within_m) / size;
      addInk(targets, {
        corners: corners.map(place),
        lines: strokes.map(({ at: [u, v], along: [c, s] }) => [
          place([u - reach * c, v - reach * s]),
          place([u + reach * c, v + reach * s]),
        ]),
        pixel_m: size,
      });
    }
    return targets;
  }

  /* Read before it is pointed at, or when that is done; until it is there the picture draws nothing to itself. */
  raster(p: PlanPicture): Raster | null {
    const address = this.address(p);
    const known = this.rasters.get(address);
    if (known !== undefined) return known;
    this.rasters.set(address, null);
    rasterOf(address).then(
      (raster) => {
        this.rasters.set(address, raster);
        this.inked++;
        this.house.tell();
      },
      (e: unknown) => this.house.say(`The picture’s lines cannot be fallen on: ${e instanceof Error ? e.message : ''}`),
    );
    return null;
  }

  async read(): Promise<void> {
    try {
      this.list = (await getJson<{ pictures: PlanPicture[] }>(this.path)).body.pictures;
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      this.list = [];
    }
    this.house.tell();
  }

  private take(said: PlanPicture): PlanPicture {
    const i = this.list.findIndex((p) => p.picture === said.picture);
    if (i < 0) this.list = [...this.list, said];
    else this.list = this.list.map((p) => (p.picture === said.picture ? said : p));
    this.house.tell();
    return said;
  }

  /* Throws Refused, with the server's words. */
  async send(file: Blob, floor: string): Promise<PlanPicture> {
    return this.take(await sendPicture(this.house.path, file, floor));
  }

  async change(p: PlanPicture, what: PictureChange): Promise<void> {
    const response = await fetchRaw('PUT', `${this.path}/${p.picture}`, {
      body: JSON.stringify(what),
      type: 'application/json',
    });
    this.trying = null;
    this.take((await response.json()) as PlanPicture);
  }

  async remove(p: PlanPicture): Promise<void> {
    await fetchRaw('DELETE', `${this.path}/${p.picture}`);
    this.list = this.list.filter((x) => x.picture !== p.picture);
    this.house.tell();
  }

  try(p: PlanPicture, placing: Placing): void {
    this.trying = { picture: p.picture, placing };
    this.house.tell();
  }
}

export async function sendPicture(house: string, file: Blob, floor: string): Promise<PlanPicture> {
  const response = await fetchRaw('POST', `${house}/pictures?${query({ floor })}`, {
    body: file,
    type: 'application/octet-stream' /* the server looks for itself */,
  });
  return (await response.json()) as PlanPicture;
}

export const PICTURE_KINDS = 'image/png,image/jpeg,application/pdf,.png,.jpg,.jpeg,.pdf';
