import { fetchRaw, Refused } from '../api/client';
import type { DrawnSpot, Vec2 } from '../api/types';
import { readField } from './field';
import type { House } from './house';

/* The engine's quick field while something is dragged, for a place that is only tried. */

type Dragged = DrawnSpot & { mount?: string; radios?: unknown[] };

export class Preview {
  private isShown = false;
  private isAsking = false;
  private wanted: { thing: Dragged; at: Vec2 } | null = null;

  constructor(private readonly house: House) {}

  /* The newest place is asked for when the one before is answered. */
  show(thing: Dragged, at: Vec2): void {
    const { view, quantity } = this.house.look;
    if (view !== 'plan' || quantity === 'none' || !thing.at || !thing.radios?.length) return;
    this.isShown = true;
    this.wanted = { thing, at };
    if (!this.isAsking) void this.ask();
  }

  /* The thing was let go: the field of the house as it now is follows. */
  end(): void {
    if (!this.isShown) return;
    this.isShown = false;
    this.wanted = null;
    this.house.readFieldsAnew();
  }

  private async ask(): Promise<void> {
    const { house } = this;
    this.isAsking = true;
    try {
      while (this.wanted) {
        const { thing, at } = this.wanted;
        this.wanted = null;
        const { floor, band, quantity, device, estimate, availability } = house.look;
        const floor_m = house.drawing?.floors.find((f) => f.id === thing.floor)?.z_m ?? 0;
        const body = {
          equipment: thing.id,
          floor: thing.floor,
          at_m: [at[0], at[1], (thing.at?.[2] ?? 0) - floor_m],
          seen: floor,
          band,
          what: quantity,
          device: device || undefined,
          estimate: estimate || undefined,
          availability: availability ? Number(availability) : undefined,
        };
        const response = await fetchRaw('POST', `${house.path}/preview`, {
          body: JSON.stringify(body),
          type: 'application/json',
        });
        const grid = readField(await response.arrayBuffer(), floor, band, quantity);
        if (!grid || !this.isShown) continue;
        house.fields = new Map([[floor, grid]]);
        house.contours = new Map();
        house.tell();
      }
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      house.say(`No field for that place: ${e.message}`);
    } finally {
      this.isAsking = false;
    }
  }
}
