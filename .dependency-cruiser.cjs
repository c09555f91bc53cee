// Which part may import which. The stages of core flow one way; adapters do not know each other;
// each npm package has one home. `npm run check` runs it.
const stages = [
  'numbers',
  'glass',
  'plan',
  'kiln-model',
  'reading',
  'thermometry',
  'tracking',
  'forecast',
  'alerts',
  'report',
];
const adapters = 'inputs|recorder|notifier|server|exports';
const home = (pkg, where) => ({
  name: `${pkg}-has-one-home`,
  severity: 'error',
  from: { pathNot: where },
  to: { path: `^(node_modules/)?${pkg}(/|$)` },
});

module.exports = {
  forbidden: [
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    { name: 'core-is-pure', severity: 'error', from: { path: '^daemon/core/' }, to: { pathNot: '^daemon/core/' } },
    ...stages.slice(0, -1).map((stage, i) => ({
      name: `core-flows-one-way-from-${stage}`,
      severity: 'error',
      from: { path: `^daemon/core/${stage}/` },
      to: { path: `^daemon/core/(${stages.slice(i + 1).join('|')})/|^daemon/core/(step|state)\\.ts$` },
    })),
    {
      name: 'adapters-are-strangers',
      severity: 'error',
      from: { path: `^daemon/(${adapters})/` },
      to: { path: `^daemon/(${adapters})/`, pathNot: '^daemon/$1/' },
    },
    {
      name: 'only-runtime-builds',
      severity: 'error',
      from: { path: '^daemon/', pathNot: `^daemon/(runtime|commands|${adapters})/` },
      to: { path: `^daemon/(${adapters})/` },
    },
    {
      name: 'adapters-not-runtime',
      severity: 'error',
      from: { path: `^daemon/(${adapters})/` },
      to: { path: '^daemon/runtime/', pathNot: '^daemon/runtime/(clock|log)\\.ts$' },
    },
    {
      name: 'product-not-scaffold',
      severity: 'error',
      from: { path: '^(daemon|web)/' },
      to: { path: '^(simulators|tests)/' },
    },
    { name: 'daemon-not-web', severity: 'error', from: { path: '^daemon/' }, to: { path: '^web/' } },
    {
      name: 'wire-sees-core-only',
      severity: 'error',
      from: { path: '^daemon/wire/' },
      to: { path: '^daemon/', pathNot: '^daemon/(wire|core)/' },
    },
    {
      name: 'web-sees-the-wire-only',
      severity: 'error',
      from: { path: '^web/' },
      to: { path: '^daemon/', pathNot: '^daemon/wire/' },
    },
    {
      name: 'simulators-see-core',
      severity: 'error',
      from: { path: '^simulators/', pathNot: '^simulators/(demo|simulate|play-live)\\.ts$' },
      to: { path: '^daemon/', pathNot: '^daemon/(core|wire|config)/|^daemon/errors\\.ts$' },
    },
    home('serialport', '^daemon/inputs/|^simulators/|^tests/'),
    home('mqtt', '^daemon/(inputs|notifier)/|^simulators/|^tests/'),
    home('aedes', '^daemon/inputs/small-broker\\.ts$'),
    home('fastify', '^daemon/server/|^tests/'),
    home('ws', '^daemon/server/|^tests/'),
    home('pkijs', '^daemon/recorder/stamp-token\\.ts$'),
    home('asn1js', '^daemon/recorder/stamp-token\\.ts$'),
    home('pdfkit', '^daemon/exports/'),
    home('yazl', '^daemon/exports/'),
    home('chart.js', '^web/'),
    home('preact', '^web/'),
    home('zod', '^daemon/(config|wire)/|^simulators/scenario-schema\\.ts$|^tests/'),
    home('yaml', '^daemon/config/|^tests/'),
    home('commander', '^daemon/main\\.ts$|^simulators/simulate\\.ts$'),
  ],
  options: {
    tsPreCompilationDeps: true,
    doNotFollow: { path: 'node_modules' },
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { extensions: ['.ts', '.tsx', '.js'] },
  },
};
