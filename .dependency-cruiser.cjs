/** The house rule as a config: imports go to lower floors or stay inside a room; rooms on floor 3 do not import each other. */
const floors = [
  ['src/kit'],
  ['src/frames'],
  ['src/map'],
  ['src/timing', 'src/fields', 'src/actions', 'src/reference', 'src/demo'],
  ['src/draft', 'src/proof', 'src/handover'],
  ['src/jobs'],
  ['src/cli', 'src/app', 'workers'],
];
const roomPattern = (rooms) => `^(${rooms.join('|')})/`;
const upward = floors.slice(0, -1).map((rooms, floor) => ({
  name: `no-import-above-floor-${floor}`,
  severity: 'error',
  comment: 'A room may import only from lower floors.',
  from: { path: roomPattern(rooms) },
  to: { path: roomPattern(floors.slice(floor + 1).flat()) },
}));
const sideways = floors
  .filter((rooms) => rooms.length > 1)
  .flatMap((rooms) =>
    rooms
      .filter((room) => room !== 'workers')
      .map((room) => ({
        name: `no-sideways-from-${room.replace('/', '-')}`,
        severity: 'error',
        comment: 'Rooms on the same floor do not know each other.',
        from: { path: roomPattern([room]) },
        to: { path: roomPattern(rooms.filter((other) => other !== room && other !== 'workers')) },
      })),
  );
/** @type {import('dependency-cruiser').IConfiguration} */
module.exports = {
  forbidden: [
    ...upward,
    ...sideways,
    {
      name: 'no-circles',
      severity: 'error',
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } },
    },
    {
      name: 'node-only-in-cli',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/cli/' },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'react-only-in-app',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/app/' },
      to: { path: 'node_modules/(react|react-dom|d3[^/]*|zustand|idb)/' },
    },
    { name: 'resolvable', severity: 'error', from: {}, to: { couldNotResolve: true, pathNot: '^virtual:' } },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '^(dist|coverage)/' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.app.json' },
    enhancedResolveOptions: {
      extensions: ['.ts', '.tsx', '.mjs', '.js', '.json'],
      conditionNames: ['import', 'require', 'node', 'default', 'types'],
      exportsFields: ['exports'],
    },
  },
};
