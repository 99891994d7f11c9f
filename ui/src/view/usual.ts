import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Problem } from '../api/client';
import type { Dict, DrawnRoom } from '../api/types';
import { addTo } from '../state/build';
import type { House } from '../state/house';
import { HouseView } from './base';
import { problemList } from './parts';

/* The promises that most households want, for the rooms that this house has.  The levels and rates are common practice, no source;
   each can be changed once it is there. */

interface Usual {
  id: string;
  promise: Dict & { says: string };
}

const LIVED_IN = ['living', 'kitchen', 'dining', 'bedroom', 'office'];
const ON_THE_WAY = ['hall', 'stairs'];

function usual(house: House): Usual[] {
  const rooms = house.drawing?.rooms ?? [];
  const of = (fits: (r: DrawnRoom) => boolean): string[] => rooms.filter(fits).map((r) => r.id);
  const indoors = of((r) => r.use !== 'outdoor');
  const lived = of((r) => LIVED_IN.includes(r.use));
  const desks = of((r) => r.use === 'office');
  const films = of((r) => r.use === 'living' || r.use === 'bedroom');
  const ways = of((r) => ON_THE_WAY.includes(r.use));
  const outside = of((r) => r.use === 'outdoor');
  const segments = Object.keys(house.section('segments'));
  const guests = segments.find((s) => /guest|visitor/.test(s));
  const out: Usual[] = [];
  const add = (is: boolean, id: string, says: string, promise: Dict): void => {
    if (is && !(id in house.section('promises'))) out.push({ id, promise: { ...promise, says } });
  };
  add(indoors.length > 0, 'everywhere', 'A phone works in every room', {
    kind: 'signal',
    rooms: indoors,
    level_dbm: -72,
  });
  add(lived.length > 0, 'lived_in_5', 'Every room we live in hears 5 GHz well', {
    kind: 'signal',
    rooms: lived,
    bands: [5],
    level_dbm: -67,
  });
  add(desks.length > 0, 'desks', 'Each desk gets 100 Mb/s with the air to itself', {
    kind: 'rate',
    rooms: desks,
    mbps: 100,
    up_mbps: 20,
    device_kind: 'work_laptop',
    when: 'alone',
  });
  add(films.length > 0, 'films', 'A film plays wherever one sits or lies, 25 Mb/s', {
    kind: 'rate',
    rooms: films,
    mbps: 25,
    device_kind: 'tablet',
    when: 'alone',
  });
  add(ways.length > 0 && indoors.length > 1, 'on_the_way', 'A call goes on while one walks through the house', {
    kind: 'roaming',
    rooms: indoors,
    level_dbm: -75,
    device_kind: 'phone',
  });
  add(outside.length > 0, 'outside', 'Music plays outside', { kind: 'signal', rooms: outside, level_dbm: -75 });
  add(true, 'half_the_air', 'The neighbours leave us half the air', { kind: 'quiet', max_busy_share: 0.5 });
  add(true, 'safe', 'The radio power where people are stays under the public limit', {
    kind: 'exposure',
    limit: house.data.country === 'US' ? 'fcc' : 'icnirp_2020',
  });
  add(!!house.data.line, 'enough_line', 'The line is enough, 95 evenings in 100', { kind: 'line', probability: 0.95 });
  add(!!guests && segments.length > 1, 'guests_apart', 'Visitors see the internet and nothing of ours', {
    kind: 'apart',
    from: `segment:${guests ?? ''}`,
    to: segments.filter((s) => s !== guests).map((s) => `segment:${s}`),
  });
  add(Object.keys(house.section('cables')).length > 0, 'cables', 'All cables are long enough, and legal', {
    kind: 'cable',
  });
  return out;
}

@customElement('rt-usual')
export class UsualPromises extends HouseView {
  @state() private ticked = new Set<string>();
  @state() private problems: Problem[] = [];

  private add = async (e: Event): Promise<void> => {
    e.preventDefault();
    const wanted = usual(this.house).filter((u) => this.ticked.has(u.id));
    if (!wanted.length) return this.house.say('Tick what was promised');
    const outcome = await this.house.edit(
      wanted.length === 1 ? `promised: ${wanted[0].promise.says}` : `${wanted.length} promises`,
      addTo(
        this.house,
        'promises',
        wanted.map((u) => [u.id, u.promise]),
      ),
    );
    this.problems = outcome.ok ? [] : outcome.problems;
    if (outcome.ok) this.ticked = new Set();
  };

  private tick(id: string, on: boolean): void {
    const next = new Set(this.ticked);
    if (on) next.add(id);
    else next.delete(id);
    this.ticked = next;
  }

  render(): TemplateResult | typeof nothing {
    const all = usual(this.house);
    if (!all.length) return nothing;
    return html`<form class="usual" aria-labelledby="usual-head" @submit=${this.add}>
      <h2 id="usual-head">Usual promises, for the rooms there are</h2>
      ${all.map(
        (u) =>
          html`<label class="tick"
            ><input
              type="checkbox"
              .checked=${this.ticked.has(u.id)}
              @change=${(e: Event) => this.tick(u.id, (e.target as HTMLInputElement).checked)}
            />${u.promise.says}</label
          >`,
      )}
      ${this.problems.length ? html`<div role="alert">${problemList(this.problems, false)}</div>` : nothing}
      <button class="main">promise what is ticked</button>
    </form>`;
  }
}
