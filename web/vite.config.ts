import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vite';

const page = (name: string): string => fileURLToPath(new URL(name, import.meta.url));

/** The browser fetches the chart's code at once and runs it when the page asks for it, after the number is shown. */
function fetchesChartEarly(): Plugin {
  return {
    name: 'fetches-chart-early',
    transformIndexHtml: {
      order: 'post',
      handler(_html, { bundle = {}, chunk }) {
        const late = Object.values(bundle).find((file) => file.type === 'chunk' && file.name === 'curve-chart');
        if (late?.type !== 'chunk' || chunk?.dynamicImports.includes(late.fileName) !== true) return [];
        const known = [chunk.fileName, ...chunk.imports];
        return [late.fileName, ...late.imports]
          .filter((file) => !known.includes(file))
          .map((file) => ({ tag: 'link', attrs: { rel: 'modulepreload', href: `/${file}` }, injectTo: 'head' }));
      },
    },
  };
}

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  // Absolute: the sign at a door has an address of its own, /door/<kiln>.
  base: '/',
  plugins: [fetchesChartEarly()],
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: fileURLToPath(new URL('../dist/web', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    rolldownOptions: { input: [page('index.html'), page('door.html')] },
  },
});
