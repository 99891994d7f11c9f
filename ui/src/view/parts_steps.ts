import { html, type TemplateResult } from 'lit';
import { type HouseView, refocus } from './base';

/* One step back or forth in the parts file; whoever went goes on from here. */
export function partsSteps(view: HouseView): TemplateResult {
  const parts = view.house.parts;
  const step = async (take: () => Promise<void>): Promise<void> => {
    await take();
    await view.updateComplete;
    refocus(view, '.ways button:not(:disabled)');
  };
  return html`<button
      type="button"
      class="word"
      ?disabled=${!parts.history?.can_undo}
      @click=${() => void step(parts.undo)}
    >
      undo in the parts
    </button>
    <button type="button" class="word" ?disabled=${!parts.history?.can_redo} @click=${() => void step(parts.redo)}>
      redo
    </button>`;
}
