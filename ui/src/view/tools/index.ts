import type { ToolName } from '../../state/look';
import { Choose } from './choose';
import { Door, Passage, WindowTool } from './opening';
import { FloorTool, Hole, Obstacle, Roof, Run } from './outline';
import { Picture } from './picture';
import { DeviceTool, EquipmentTool, LineTool, MountTool } from './place';
import { Room } from './room';
import type { Board, Tool } from './tool';
import { Wall } from './wall';

/* What each tool does, by the name that it has in the table of state/look.ts.  Another tool is one file here, a row of that table and
   a row of this one. */
export const MAKERS: Record<ToolName, new (b: Board) => Tool> = {
  '': Choose,
  picture: Picture,
  wall: Wall,
  door: Door,
  window: WindowTool,
  passage: Passage,
  room: Room,
  floor: FloorTool,
  hole: Hole,
  roof: Roof,
  obstacle: Obstacle,
  run: Run,
  mount: MountTool,
  equipment: EquipmentTool,
  device: DeviceTool,
  line: LineTool,
};
