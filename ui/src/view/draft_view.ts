import { state } from 'lit/decorators.js';
import type { Problem } from '../api/client';
import type { Dict, Json } from '../api/types';
import { merge, same } from '../state/merge';
import { HouseView } from './base';
import { keyOf } from './keys';

const ID = /^[A-Za-z][A-Za-z0-9_-]{0,62}$/;

/* A form for one value of a file that others write too: what was there when it was begun, what stands in the form, and what is wrong. */
export abstract class DraftView extends HouseView {
  @state() protected draft: Dict | null = null;
  @state() protected newId = '';
  @state() protected problems: { key: string; problem: Problem }[] = [];
  @state() protected conflict = false;
  @state() protected filter = ''; /* of the list to choose from */
  protected was: Json | undefined;
  protected base = 0; /* the revision that the draft was begun on */
  protected shown = ''; /* what the form is for */
  protected touched = false; /* something was typed that is no part of the draft yet */

  protected abstract get revision(): number; /* of the file, now */
  protected abstract get dirty(): boolean;
  /* The value as it stands in the file now; undefined: it is not there. */
  protected abstract now(): Json | undefined;
  /* What the form begins with; null: there is none, but a list. */
  protected abstract first(): Dict | null;

  /* To be called before each rendering; true: the form is for something else than before. */
  protected follows(shown: string): boolean {
    const isOther = shown !== this.shown;
    if (isOther) {
      this.shown = shown;
      this.filter = '';
      this.begin();
    } else if (this.draft && !this.conflict && this.revision !== this.base) this.catchUp();
    return isOther;
  }

  protected begin(): void {
    const { item } = this.house.look;
    this.problems = [];
    this.conflict = false;
    this.touched = false;
    this.base = this.revision;
    this.newId = item === '+' ? '' : item;
    this.was = this.now();
    this.draft = this.first();
  }

  /* Somebody else wrote the file while this form is open: what they changed of it is taken over, what both changed is asked about. */
  private catchUp(): void {
    const theirs = this.now();
    if (!this.dirty && !this.touched) return this.begin();
    if (!same(theirs, this.was)) {
      const m = merge(this.was, this.draft ?? undefined, theirs);
      if (m.both.length || theirs === undefined) {
        this.conflict = true;
        return;
      }
      this.draft = m.value as Dict;
      this.was = theirs;
      /* not of one's own change, which has just been kept */
      if (m.theirs.length) this.house.said = 'This was changed elsewhere too; what you typed is kept beside it';
    }
    this.base = this.revision;
  }

  /* What somebody else wrote meanwhile is shown; the draft stays, to be tried again on it. */
  protected keepMine = (): void => {
    const theirs = this.now();
    this.draft = merge(this.was, this.draft ?? undefined, theirs).value as Dict;
    this.was = theirs;
    this.base = this.revision;
    this.conflict = false;
    this.problems = [];
  };

  /* The short name as typed, or null with a word beside the form: it can be none. */
  protected nameTyped(): string | null {
    const id = this.newId.trim();
    if (ID.test(id)) return id;
    const says = 'give it a short name: letters, digits, _ or -, a letter first';
    this.problems = [{ key: '#id', problem: { code: 'shape', is_warning: false, says, hint: null, line: null } }];
    this.house.say(says);
    return null;
  }

  /* Why it was refused, beside the fields concerned; `own`: the pointer of the value in the file. */
  protected tell(problems: Problem[], conflict: boolean, own: string): void {
    this.conflict = conflict && this.house.look.item !== '+';
    this.problems = problems.map((problem) => ({ key: keyOf(problem, own), problem }));
    void this.updateComplete.then(() => this.querySelector<HTMLElement>('[aria-invalid=true]')?.focus());
  }
}
