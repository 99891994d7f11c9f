import { fetchRaw } from '../api/client';
import { halved, type Raster } from '../draw/ink';

/* A picture as so much darkness in each pixel, on white paper; strip by strip, for a large one would fill the memory in colours. */

const STRIP_PX = 256;

export async function rasterOf(address: string): Promise<Raster> {
  const picture = await createImageBitmap(await (await fetchRaw('GET', address)).blob());
  const { width, height } = picture;
  const canvas = new OffscreenCanvas(width, STRIP_PX);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('this browser gives no canvas to read it from');
  const dark = new Uint8Array(width * height);
  for (let top = 0; top < height; top += STRIP_PX) {
    const high = Math.min(STRIP_PX, height - top);
    context.fillStyle = '#fff';
    context.fillRect(0, 0, width, high);
    context.drawImage(picture, 0, -top);
    const { data } = context.getImageData(0, 0, width, high);
    /* luma of Rec. ITU-R BT.601, as whole numbers of 256 parts */
    for (let i = 0, k = top * width; i < data.length; i += 4, k++)
      dark[k] = 255 - ((77 * data[i] + 150 * data[i + 1] + 29 * data[i + 2]) >> 8);
  }
  picture.close();
  return halved(width, height, dark);
}
