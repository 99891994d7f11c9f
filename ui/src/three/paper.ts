import { Color, DoubleSide, type Material, MeshBasicMaterial, Vector2 } from 'three';
import { LineMaterial } from 'three/addons/lines/LineMaterial.js';

/* The sheet's own colours and lines as what a model is made of: paper, ink, and the one accent. */

export interface Tone {
  colour: Color;
  alpha: number;
}

/* A token of the style sheet: #rrggbb, or with its opacity #rrggbbaa. */
export function token(name: string): Tone {
  const said = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const hex = /^#([0-9a-f]{6})([0-9a-f]{2})?$/i.exec(said);
  return {
    colour: new Color(hex ? `#${hex[1]}` : '#808080'),
    alpha: hex?.[2] ? parseInt(hex[2], 16) / 255 : 1,
  };
}

export type Ink = 'thin' | 'thick' | 'hair' | 'cable' | 'drop' | 'ray' | 'best' | 'open';

/* pixels wide, and metres of dash and gap */
const INKS: Record<Ink, { token: string; wide: number; dash?: [number, number]; alpha?: number }> = {
  thin: { token: '--wall-line', wide: 0.9 },
  thick: { token: '--wall-line', wide: 1.5 },
  hair: { token: '--edge', wide: 0.8 },
  cable: { token: '--ink', wide: 1.6, dash: [0.22, 0.13] },
  drop: { token: '--ink', wide: 0.8 },
  ray: { token: '--ink', wide: 1, alpha: 0.75 },
  best: { token: '--ink', wide: 2.4 },
  open: { token: '--edge', wide: 1, dash: [0.3, 0.2] },
};

/* All materials of one model; `dispose()` gives them back. */
export class Paper {
  readonly wall = token('--wall');
  private readonly made: Material[] = [];
  private readonly inks = new Map<Ink, LineMaterial>();

  private keep<M extends Material>(m: M): M {
    this.made.push(m);
    return m;
  }

  /* Coloured at its corners, by which way each face looks. */
  readonly walls = this.keep(new MeshBasicMaterial({ vertexColors: true, transparent: true, depthWrite: false }));
  readonly ground = this.keep(new MeshBasicMaterial({ color: token('--room').colour }));
  readonly slab = this.keep(new MeshBasicMaterial({ color: token('--slab').colour }));
  readonly glass = this.keep(
    new MeshBasicMaterial({
      color: token('--sheet').colour,
      opacity: 0.35,
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    }),
  );
  readonly roof = this.keep(
    new MeshBasicMaterial({
      color: token('--slab').colour,
      opacity: 0.3,
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    }),
  );

  field(make: () => MeshBasicMaterial): MeshBasicMaterial {
    return this.keep(make());
  }

  ink(kind: Ink): LineMaterial {
    const known = this.inks.get(kind);
    if (known) return known;
    const { token: name, wide, dash, alpha } = INKS[kind];
    const m = new LineMaterial({
      color: token(name).colour.getHex(),
      linewidth: wide,
      dashed: !!dash,
      dashSize: dash?.[0] ?? 1,
      gapSize: dash?.[1] ?? 1,
      transparent: true,
      opacity: alpha ?? 1,
      depthWrite: false,
      alphaToCoverage: false,
    });
    this.inks.set(kind, this.keep(m));
    return m;
  }

  /* Lines are finer where the whole picture is small. */
  resize(w: number, h: number): void {
    for (const [kind, m] of this.inks) {
      m.resolution = new Vector2(w, h);
      m.linewidth = INKS[kind].wide * (w > 760 ? 1 : 0.7);
    }
  }

  dispose(): void {
    for (const m of this.made) m.dispose();
    this.made.length = 0;
    this.inks.clear();
  }
}
