import { fileURLToPath } from 'node:url';
import { build, defineConfig, type Plugin } from 'vite';

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

/** The service worker is one file by itself, under a name that stays: the browser asks there for a newer one. */
function addsServiceWorker(): Plugin {
  return {
    name: 'adds-service-worker',
    async generateBundle() {
      const built = await build({
        configFile: false,
        logLevel: 'error',
        build: {
          write: false,
          target: 'es2022',
          rolldownOptions: { input: page('service-worker.ts'), output: { format: 'iife' } },
        },
      });
      const [{ output }] = [built].flat() as [{ output: [{ code: string }] }];
      this.emitFile({ type: 'asset', fileName: 'service-worker.js', source: output[0].code });
    },
  };
}

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  // Absolute: the sign at a door has an address of its own, /door/<kiln>.
  base: '/',
  plugins: [fetchesChartEarly(), addsServiceWorker()],
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: fileURLToPath(new URL('../dist/web', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    rolldownOptions: { input: [page('index.html'), page('door.html')] },
  },
});
