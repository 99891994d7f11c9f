import {
  type BufferGeometry,
  DataTexture,
  EdgesGeometry,
  Float32BufferAttribute,
  Group,
  LinearFilter,
  type Material,
  Mesh,
  MeshBasicMaterial,
  type Object3D,
  Scene,
  SRGBColorSpace,
  type Texture,
  Vector3,
} from 'three';
import { LineSegments2 } from 'three/addons/lines/LineSegments2.js';
import { LineSegmentsGeometry } from 'three/addons/lines/LineSegmentsGeometry.js';
import type { Drawing, DrawnFloor, FieldGrid, Vec2, Vec3 } from '../api/types';
import { coloursOf } from '../draw/field';
import { lifterOf, storeysOf } from '../draw/projection';
import { type Ink, Paper, token } from './paper';
import { legsOf, painted, panes, prism, ribbon, round, sheet, toModel, wallSolid } from './solids';

/* The house in three dimensions, made of what `/drawing` says; a group for each floor, so that floors can be hidden or drawn apart. */

const CREASE_DEG = 20; /* a fold sharper than this is an edge */
const HAND_M = 1.2;
const APART = 0.36; /* of the house's depth, between storeys drawn apart */

export class Model {
  readonly scene = new Scene();
  readonly paper = new Paper();
  readonly grounds: Mesh[] = []; /* what can be pointed at, and hides what lies below */
  private readonly floors = new Map<string, Group>();
  private readonly between = new Group(); /* what leads from floor to floor */
  private readonly fields = new Group();
  private readonly rays = new Group();
  private readonly textures: Texture[] = [];
  private readonly lift: (floor: string | null, z: number) => number;

  constructor(
    readonly d: Drawing,
    apart: boolean,
  ) {
    const storeys = storeysOf(d);
    const step = apart ? APART * Math.min(Math.max(this.depth(), 4), 16) : 0;
    storeys.forEach((s, i) => (s.lift = i * step));
    this.lift = lifterOf(storeys);
    for (const f of d.floors) this.floors.set(f.id, this.floor(f));
    this.scene.add(...this.floors.values(), this.between, this.fields, this.rays);
    this.things();
    this.cables();
  }

  private depth(): number {
    const inner = this.d.floors.filter((f) => !f.open_air).flatMap((f) => f.outline);
    const ys = (inner.length ? inner : this.d.floors.flatMap((f) => f.outline)).map((q) => q[1]);
    return ys.length ? Math.max(...ys) - Math.min(...ys) : 8;
  }

  /* The corners of all that is seen, or would be. */
  corners(hidden: ReadonlySet<string>): Vector3[] {
    const shown = this.d.floors.filter((f) => !hidden.has(f.id));
    const at = (f: DrawnFloor, z: number): Vector3[] => f.outline.map(([x, y]) => this.place([x, y, z], f.id));
    return [
      ...shown.flatMap((f) => [...at(f, f.z_m), ...(f.open_air ? [] : at(f, f.z_m + f.height_m))]),
      ...(this.d.planes ?? [])
        .filter((p) => shown.some((f) => f.id === p.floor))
        .flatMap((p) => p.outline.map((q) => this.place(q, p.floor))),
    ];
  }

  /* Where a place of the house lies in the model. */
  place(p: Vec3, floor: string | null): Vector3 {
    const [x, y, z] = toModel(p);
    return new Vector3(x, y + this.lift(floor, p[2]), z);
  }

  /* Where a spot that is asked about lies: as high as something held in a hand. */
  spotHeight(floor: string, [x, y]: Vec2): Vec3 {
    return [x, y, (this.d.floors.find((f) => f.id === floor)?.z_m ?? 0) + HAND_M];
  }

  /* ---- making ---- */

  /* A solid about its own middle, so that nearer ones are drawn over farther ones; with the edges of its folds. */
  private solid(to: Object3D, g: BufferGeometry, m: Material | Material[], ink: Ink | null): Mesh {
    const edges = ink ? new EdgesGeometry(g, CREASE_DEG) : null;
    g.computeBoundingBox();
    const middle = g.boundingBox?.getCenter(new Vector3()) ?? new Vector3();
    g.translate(-middle.x, -middle.y, -middle.z);
    const mesh = new Mesh(g, m);
    mesh.position.copy(middle);
    to.add(mesh);
    if (edges && ink) {
      edges.translate(-middle.x, -middle.y, -middle.z);
      const line = this.lines(to, edges.getAttribute('position').array as Float32Array, ink);
      line?.position.copy(middle);
      edges.dispose();
    }
    return mesh;
  }

  private lines(to: Object3D, pairs: ArrayLike<number>, ink: Ink): LineSegments2 | null {
    if (pairs.length < 6) return null;
    const g = new LineSegmentsGeometry();
    g.setPositions(pairs instanceof Float32Array ? pairs : Float32Array.from(pairs));
    const line = new LineSegments2(g, this.paper.ink(ink));
    line.computeLineDistances();
    to.add(line);
    return line;
  }

  /* Paper that is a little darker on some sides, as in soft light from above and the left; the cut at the top in ink. */
  private shade(g: BufferGeometry): BufferGeometry {
    g.computeVertexNormals();
    const n = g.getAttribute('normal');
    const { colour, alpha } = this.paper.wall;
    const cut = token('--wall-line').colour;
    const tones = new Float32Array(n.count * 4);
    g.computeBoundingBox();
    const top = (g.boundingBox?.max.y ?? 0) - 0.01; /* sills stay paper */
    for (let i = 0; i < n.count; i++) {
      const isTop = n.getY(i) > 0.9 && g.getAttribute('position').getY(i) > top;
      const tone = isTop ? cut : colour;
      const light = isTop ? 1 : 0.95 - 0.07 * n.getX(i) + 0.03 * n.getZ(i);
      tones.set([tone.r * light, tone.g * light, tone.b * light, isTop ? 0.82 : alpha], i * 4);
    }
    g.setAttribute('color', new Float32BufferAttribute(tones, 4));
    return g;
  }

  private floor(f: DrawnFloor): Group {
    const group = new Group();
    group.position.y = this.lift(f.id, f.z_m);
    const holes = f.holes.map((h) => h.outline);
    if (f.open_air) {
      const rim = round(f.outline.map(([x, y]) => [x, y, f.z_m] as Vec3)).flatMap(toModel);
      this.lines(group, rim, 'open');
    } else if (f.outline.length > 2) {
      const slab = prism(f.outline, holes, f.z_m - Math.max(f.slab_m, 0.05), f.z_m);
      this.grounds.push(this.solid(group, slab, [this.paper.ground, this.paper.slab], 'hair'));
      this.grounds[this.grounds.length - 1].userData.floor = f.id;
    }
    for (const leg of legsOf(this.d.walls.filter((w) => w.floor === f.id))) {
      const g = wallSolid(leg, f.z_m);
      if (g) this.solid(group, this.shade(g), this.paper.walls, leg.wall.thickness_m > 0.16 ? 'thick' : 'thin');
      const glass = panes(leg, f.z_m);
      if (glass) this.solid(group, glass, this.paper.glass, 'hair');
    }
    for (const o of this.d.obstacles.filter((x) => x.floor === f.id)) {
      const all = o.outline
        ? [prism(o.outline, [], f.z_m + o.from_m, f.z_m + o.to_m)]
        : ribbon(o.line ?? [], o.thickness_m || 0.03, f.z_m + o.from_m, f.z_m + o.to_m);
      for (const g of all) this.solid(group, this.shade(g), this.paper.walls, 'thin');
    }
    for (const p of (this.d.planes ?? []).filter((x) => x.floor === f.id)) {
      const g = sheet(p.outline);
      if (g) this.solid(group, g, this.paper.roof, null);
      this.lines(group, round(p.outline).flatMap(toModel), 'thin');
    }
    return group;
  }

  /* A line from each thing that hangs or stands to the floor below it. */
  private things(): void {
    for (const t of [...this.d.equipment.filter((e) => !e.inside), ...this.d.mounts.filter((m) => !m.holds)]) {
      const f = this.d.floors.find((x) => x.id === t.floor);
      const group = this.floors.get(t.floor ?? '');
      if (!t.at || !f || !group || t.at[2] - f.z_m < 0.05) continue;
      const [x, y, z] = toModel(t.at);
      this.lines(group, [x, y, z, x, f.z_m, z], 'drop');
    }
  }

  private cables(): void {
    for (const c of this.d.cables)
      for (const s of c.stretches) {
        const pairs = s.line.slice(1).flatMap((q, i) => {
          const a = this.place(s.line[i], s.floor),
            b = this.place(q, s.floor);
          return [...a.toArray(), ...b.toArray()];
        });
        const line = this.lines(this.between, pairs, 'cable');
        if (line)
          line.userData = {
            floor: s.floor,
            from: Math.min(...s.line.map((q) => q[2])),
            to: Math.max(...s.line.map((q) => q[2])),
          };
      }
  }

  /* ---- what changes ---- */

  isShown(floor: string | null): boolean {
    return floor === null || (this.floors.get(floor)?.visible ?? true);
  }

  hide(hidden: ReadonlySet<string>): void {
    for (const [id, group] of this.floors) group.visible = !hidden.has(id);
    const seen = this.d.floors.filter((f) => !hidden.has(f.id));
    for (const line of this.between.children) {
      const { floor, from, to } = line.userData as { floor: string | null; from: number; to: number };
      line.visible = floor ? !hidden.has(floor) : seen.some((f) => from < f.z_m + f.height_m && to > f.z_m);
    }
    for (const mesh of this.fields.children) mesh.visible = !hidden.has(mesh.userData.floor as string);
  }

  paint(fields: ReadonlyMap<string, FieldGrid>): void {
    empty(this.fields);
    while (this.textures.length) this.textures.pop()?.dispose();
    for (const f of this.d.floors) {
      const grid = fields.get(f.id);
      if (!grid || f.outline.length < 3) continue;
      const texture = new DataTexture(coloursOf(grid), grid.columns, grid.rows);
      texture.colorSpace = SRGBColorSpace;
      texture.magFilter = texture.minFilter = LinearFilter;
      texture.needsUpdate = true;
      this.textures.push(texture);
      const material = this.paper.field(() => new MeshBasicMaterial({ map: texture, alphaTest: 0.5 }));
      const mesh = new Mesh(painted(f, grid), material);
      mesh.position.y = this.lift(f.id, f.z_m);
      mesh.userData.floor = f.id;
      mesh.visible = this.isShown(f.id);
      this.fields.add(mesh);
    }
  }

  /* Lines through the house to a spot; the first is the strongest. */
  radiate(paths: { points: Vec3[]; isBest: boolean }[], floor: string, spot: Vec3 | null): void {
    empty(this.rays);
    const ground = this.d.floors.find((f) => f.id === floor)?.z_m;
    if (spot && ground !== undefined) {
      const foot = this.place([spot[0], spot[1], ground], floor);
      this.lines(this.rays, [...this.place(spot, floor).toArray(), ...foot.toArray()], 'drop');
    }
    for (const { points, isBest } of paths) {
      const pairs = points.slice(1).flatMap((q, i) => {
        const on = (p: Vec3): Vector3 => this.place(p, this.floorAt(p, floor));
        return [...on(points[i]).toArray(), ...on(q).toArray()];
      });
      const line = this.lines(this.rays, pairs, isBest ? 'best' : 'ray');
      if (line) line.renderOrder = 2;
    }
  }

  /* Which floor a point of a ray is drawn with: that of the spot while it is that high, else as its height says. */
  private floorAt(p: Vec3, floor: string): string | null {
    const f = this.d.floors.find((x) => x.id === floor);
    return f && p[2] >= f.z_m - 0.01 && p[2] <= f.z_m + f.height_m + 0.01 ? floor : null;
  }

  /* The floor and the place on it where a mesh of `grounds` was hit. */
  spotOn(mesh: Object3D, at: Vector3): { floor: string; at: Vec2 } {
    return { floor: mesh.userData.floor as string, at: [at.x, -at.z] };
  }

  dispose(): void {
    empty(this.scene);
    for (const t of this.textures) t.dispose();
    this.paper.dispose();
  }
}

function empty(group: Object3D): void {
  group.traverse((o) => (o as Partial<Mesh>).geometry?.dispose());
  group.clear();
}
