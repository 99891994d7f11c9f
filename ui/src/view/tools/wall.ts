import { html, type TemplateResult } from 'lit';
import type { Dict, Vec2 } from '../../api/types';
import { isOnOutline } from '../../draw/snap';
import { addTo, freshIds } from '../../state/build';
import { constructs } from '../../state/constructs';
import { DraftTool } from './draft';
import { made, WALLS } from './fields';
import type { Board } from './tool';

/* Walls, point after point; each stretch is a wall of its own, so that each can be named and found in the evidence. */

let outer = 'brick_cavity'; /* as was chosen last */
let inner = 'stud_wall';

export class Wall extends DraftTool {
  private readonly made;

  constructor(board: Board) {
    super(board);
    this.made = constructs(board.house, () => board.redraw());
  }

  says(): string {
    if (!this.points.length) return 'Choose where a wall begins.';
    return this.points.length === 1
      ? 'Choose where it ends, or type how long it is.'
      : 'Go on; Escape, or the same point again, keeps it.';
  }

  head(): TemplateResult {
    const set = (which: 'outer' | 'inner') => (v: string) => {
      if (which === 'outer') outer = v;
      else inner = v;
      this.board.redraw();
    };
    return html`${made('on the outline', outer, this.made.list, WALLS, set('outer'))}
    ${made('inside', inner, this.made.list, WALLS, set('inner'))} ${this.wrong()}`;
  }

  /* A wall that comes to another ends there. */
  protected set(at: Vec2): void {
    const met = !!this.aim?.wall && this.points.length > 0;
    super.set(at);
    if (met && this.points.length >= 2) void this.end(false);
  }

  protected finish(points: Vec2[], closed: boolean): Promise<boolean> {
    const { floor } = this.stage;
    const line = closed ? [...points, points[0]] : points;
    const many = line.length - 1;
    const at = line.slice(0, -1).map((a, i) => isOnOutline(floor, a, line[i + 1]));
    const names = {
      outer: freshIds(this.house, 'walls', this.stem('outer_wall_'), many),
      inner: freshIds(this.house, 'walls', this.stem('wall_'), many),
    };
    const walls = at.map((out, i): [string, Dict] => [
      (out ? names.outer : names.inner).shift() ?? '',
      { floor: floor.id, construct: out ? outer : inner, line: [line[i], line[i + 1]] },
    ]);
    return this.keep(many === 1 ? `${walls[0][0]} drawn` : `${many} walls drawn`, addTo(this.house, 'walls', walls));
  }

  /* On the floors above the first, the floor's name is part of the wall's. */
  private stem(name: string): string {
    return this.stage.d.floors[0]?.id === this.stage.floor.id ? name : `${this.stage.floor.id}_${name}`;
  }

  cancel(): boolean {
    if (this.points.length < 2 || this.problems.length) return super.cancel();
    void this.end(false);
    return true;
  }
}
