import { defineConfig, type Plugin } from 'vite';

/* The views are read after the house was asked for (src/main.ts), and the words are set in a font that only the styles name: the page
   says at once that it will need both, so that nothing waits for its turn. */
function sayAhead(): Plugin {
  return {
    name: 'say-ahead',
    transformIndexHtml: {
      order: 'post',
      handler(_html, { bundle }) {
        const made = Object.values(bundle ?? {});
        const views = made.find((f) => f.type === 'chunk' && f.name === 'app')?.fileName;
        const font = made.find((f) => /inter-latin-wght-normal.*\.woff2$/.test(f.fileName))?.fileName;
        if (!views || !font) throw new Error('the page has no chunk of views, or no font, to say ahead');
        const link = (attrs: Record<string, string>) => ({
          tag: 'link',
          attrs: { ...attrs, crossorigin: '' },
          injectTo: 'head' as const,
        });
        return [
          link({ rel: 'modulepreload', href: `./${views}` }),
          link({ rel: 'preload', as: 'font', type: 'font/woff2', href: `./${font}` }),
        ];
      },
    },
  };
}

/* The page is served by the program itself: relative addresses, nothing inlined (the content policy allows no inline
   script or style), and the files whose names change with what is in them below assets/. */
export default defineConfig({
  base: './',
  plugins: [sayAhead()],
  build: {
    outDir: '../build/page',
    emptyOutDir: true,
    target: 'es2021',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 700,
  },
});
