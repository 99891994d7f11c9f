/* cividis (Nunez, Anderton, Renslow: Optimizing colormaps with consideration for color vision deficiency, PLOS ONE 13(7), 2018):
   perceptually uniform, and the same to eyes that see no red or green.  33 of its 256 colours, between which is interpolated. */
const MAP = (
  '00224e 00285b 002e6a 053371 1a386f 273e6e 32436d 3b496c 434e6c 4b546c 535a6d 5a5f6e 61656f 686a71 6f7073 767676 7d7c78 ' +
  '848279 8c8878 938e78 9b9476 a39a74 aba072 b4a76f bcae6c c4b468 cdbb63 d5c25e dec958 e7d150 f0d846 f9e03a fee838'
)
  .split(' ')
  .map((hex) => [0, 2, 4].map((i) => parseInt(hex.slice(i, i + 2), 16)) as [number, number, number]);

export function cividis(share: number): [number, number, number] {
  const at = Math.min(Math.max(share, 0), 1) * (MAP.length - 1);
  const i = Math.min(Math.floor(at), MAP.length - 2);
  const t = at - i;
  return [0, 1, 2].map((k) => Math.round(MAP[i][k] + t * (MAP[i + 1][k] - MAP[i][k]))) as [number, number, number];
}

export const cividisCss = (share: number): string => `rgb(${cividis(share).join(' ')})`;
