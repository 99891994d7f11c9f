import type { LengthUnit } from '../units';

/* What this browser's user likes; kept in this browser alone. */
export type Theme = 'system' | 'light' | 'dark';

class Settings extends EventTarget {
  theme: Theme = 'system';
  unit: LengthUnit = 'm';

  constructor() {
    super();
    try {
      const kept = JSON.parse(localStorage.getItem('rooftree') ?? '{}') as Partial<Settings>;
      if (kept.theme === 'light' || kept.theme === 'dark') this.theme = kept.theme;
      if (kept.unit === 'ft') this.unit = 'ft';
    } catch {
      /* a browser that keeps nothing shows the usual */
    }
    this.apply();
  }

  set(what: Partial<Pick<Settings, 'theme' | 'unit'>>): void {
    Object.assign(this, what);
    try {
      localStorage.setItem('rooftree', JSON.stringify({ theme: this.theme, unit: this.unit }));
    } catch {
      /* then only for now */
    }
    this.apply();
    this.dispatchEvent(new Event('change'));
  }

  private apply(): void {
    if (this.theme === 'system') delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = this.theme;
  }
}

export const settings = new Settings();
