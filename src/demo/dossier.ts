/** What the page needs to open the demo as a dossier: titles, roles, bit rates, actions and marks. Plain data. */
import type { Demo, DemoFile } from './demo-files.ts';
import { digestOf } from './true-map.ts';

function referencesOf(demo: Demo): object[] {
  const columns = [
    { name: 'satellite_speed', unit: 'km/h', pick: 'satelliteSpeed' },
    { name: 'pack_voltage', unit: 'V', pick: 'packVoltage' },
    { name: 'pack_current', unit: 'A', pick: 'packCurrent' },
  ] as const;
  return columns.map(({ name, unit, pick }) => {
    const rows = demo.references.filter((row) => row[pick] !== null);
    return {
      name,
      unit,
      timeBase: 'epoch',
      timeS: rows.map(({ timeS }) => timeS),
      value: rows.map((row) => row[pick]),
      from: 'file',
    };
  });
}

function captureOf(demo: Demo, files: readonly DemoFile[], index: number): object {
  const outing = demo.outings[index] as Demo['outings'][number];
  const file = files.find(({ name }) => name.startsWith(`${outing.id}.`)) as DemoFile;
  const marks = (demo.marks[index] ?? []).map(({ action, startS, endS, value, note }, at) => ({
    key: `demo-${index + 1}-${at + 1}`,
    action,
    startS,
    endS,
    value,
    note,
  }));
  return {
    id: `c${index + 1}`,
    title: outing.title,
    role: outing.role,
    files: [{ name: file.name, bytes: file.bytes.length, sha256: digestOf(file.bytes) }],
    marks,
    markTimeBase: 'epoch',
    markOffset: 'auto',
    references: index === 0 ? referencesOf(demo) : [],
  };
}

/** In the shape of the dossier's schema; the caller parses it. */
export function demoDossier(demo: Demo, files: readonly DemoFile[]): Record<string, unknown> {
  const actions = [...new Set(demo.marks.flat().map(({ action }) => action))];
  return {
    format: 'loomscribe.dossier',
    version: 1,
    part: {
      title: 'Drive unit and pack',
      donor: 'Ormvik PK3 post van, written off',
      destination: 'Harbour workboat Terne',
      notes: 'Demo: everything in it is invented.',
    },
    captures: demo.outings.map((_, index) => captureOf(demo, files, index)),
    rates: Object.fromEntries(
      demo.vehicle.buses.map(({ name, bitrate, dataBitrate }) => [name, { bitrate, dataBitrate }]),
    ),
    actions,
    decisions: [],
    signals: [],
    frameNames: [],
  };
}
