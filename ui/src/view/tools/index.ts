import { Choose } from './choose';
import { Door, Passage, WindowTool } from './opening';
import { FloorTool, Hole, Obstacle, Roof, Run } from './outline';
import { Picture } from './picture';
import { DeviceTool, EquipmentTool, LineTool, MountTool } from './place';
import { Room } from './room';
import type { Board, Tool } from './tool';
import { Wall } from './wall';

/* The tools, by the words that choose them in the sheet's head.  The first is there always; the others where the plan is shown and the
   left side is `change`.  Another tool is one file here and one row of this table. */
export const TOOLS: readonly { name: string; word: string; make: new (b: Board) => Tool }[] = [
  { name: '', word: 'choose', make: Choose },
  { name: 'picture', word: 'picture', make: Picture },
  { name: 'wall', word: 'wall', make: Wall },
  { name: 'door', word: 'door', make: Door },
  { name: 'window', word: 'window', make: WindowTool },
  { name: 'passage', word: 'passage', make: Passage },
  { name: 'room', word: 'room', make: Room },
  { name: 'floor', word: 'floor', make: FloorTool },
  { name: 'hole', word: 'hole', make: Hole },
  { name: 'roof', word: 'roof', make: Roof },
  { name: 'obstacle', word: 'solid thing', make: Obstacle },
  { name: 'run', word: 'cable way', make: Run },
  { name: 'mount', word: 'mount', make: MountTool },
  { name: 'equipment', word: 'equipment', make: EquipmentTool },
  { name: 'device', word: 'device', make: DeviceTool },
  { name: 'line', word: 'line', make: LineTool },
];
