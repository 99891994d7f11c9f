import type { Vec2 } from '../../api/types';
import { distance, tidy, type Snapped } from '../../draw/snap';
import { settings } from '../../state/settings';
import { length, readLengths } from '../../units';
import { DraftTool } from './draft';

/* Areas: a rectangle by two corners, or an outline point by point. */
export abstract class ShapeTool extends DraftTool {
  protected least = 3;

  protected get rectangle(): boolean {
    return false;
  }

  says(): string {
    if (this.rectangle)
      return this.points.length
        ? 'Choose the opposite corner, or type width, a space, depth.'
        : 'Choose a corner of the rectangle.';
    if (!this.points.length) return 'Choose its first corner.';
    return this.points.length < 3
      ? 'Choose the next corner, or type how far it is.'
      : 'Go round; the first corner again closes it.';
  }

  /* No square directions from a corner of a rectangle. */
  protected snapped(at: Vec2, fine: boolean, byKeys = false): Snapped {
    if (!this.rectangle || !this.points.length) return super.snapped(at, fine, byKeys);
    const kept = this.points;
    this.points = [];
    const s = super.snapped(at, fine, byKeys);
    this.points = kept;
    return s;
  }

  protected set(at: Vec2): void {
    const from = this.points[0];
    if (!this.rectangle || !from) return super.set(at);
    this.typed = '';
    if (Math.abs(at[0] - from[0]) < 0.01 || Math.abs(at[1] - from[1]) < 0.01)
      return this.house.say('A rectangle needs a width and a depth');
    const kept = this.points;
    this.points = around(from, tidy(at));
    void this.end(true).then(() => {
      if (this.points.length) this.points = kept; /* refused */
      this.board.redraw();
    });
  }

  protected takeTyped(): void {
    const from = this.points[0];
    const numbers = readLengths(this.typed, settings.unit).filter((n) => n !== null);
    if (!this.rectangle || !from || numbers.length !== 2) return super.takeTyped();
    this.typed = '';
    const to = this.aim?.at ?? from;
    const sign = (v: number): number => (v < 0 ? -1 : 1);
    this.arrive([from[0] + sign(to[0] - from[0]) * numbers[0], from[1] + sign(to[1] - from[1]) * numbers[1]]);
  }

  protected shape(): { line: Vec2[]; closed: boolean } {
    const from = this.points[0];
    if (!this.rectangle || !from || !this.aim) return super.shape();
    return { line: around(from, this.aim.at), closed: true };
  }

  protected far(aim: Snapped): string {
    const from = this.points[0];
    if (!this.rectangle) return length(distance(this.last as Vec2, aim.at), settings.unit);
    return `${length(Math.abs(aim.at[0] - from[0]), settings.unit)} by ${length(Math.abs(aim.at[1] - from[1]), settings.unit)}`;
  }
}

const around = (a: Vec2, b: Vec2): Vec2[] => {
  const [x0, x1] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
  const [y0, y1] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])];
  return [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
};
