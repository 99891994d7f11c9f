import { defineConfig } from 'vite';

/* The page is served by the program itself: relative addresses, nothing inlined (the content policy allows no inline
   script or style), and the files whose names change with what is in them below assets/. */
export default defineConfig({
  base: './',
  build: {
    outDir: '../build/page',
    emptyOutDir: true,
    target: 'es2021',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 700,
  },
});
