/** Dossiers as files: a round trip keeps everything, a broken one says where. */
import { describe, expect, it } from 'vitest';
import { parseDossier, printDossier } from '../../src/jobs/dossier-file.ts';
import { emptyDossier } from '../../src/jobs/dossier.ts';

const problemsOf = (text: string) => {
  const outcome = parseDossier(text, 'boat.json');
  return outcome.ok ? [] : outcome.problems;
};

describe('a dossier file', () => {
  it('comes back as it was, keys of newer versions included', () => {
    const dossier = {
      ...emptyDossier(),
      part: { title: 'Drive unit', donor: 'post van', destination: 'harbour workboat', notes: '', hull: 7 },
      later: { kept: true },
    };
    const outcome = parseDossier('\uFEFF' + printDossier(dossier), 'boat.json');
    expect(outcome).toMatchObject({ ok: true, value: dossier });
  });

  it('says where JSON breaks', () => {
    const [problem] = problemsOf('{\n  "format": "loomscribe.dossier",\n  "version": 1,,\n}');
    expect(problem).toMatchObject({ code: 'not-json', place: { file: 'boat.json', line: 3 } });
  });

  it.each([
    ['[]', 'not-a-dossier', 'not a dossier'],
    ['{"format":"loomscribe.signal-map"}', 'not-a-dossier', 'signal map'],
    ['{"format":"loomscribe.dossier","version":2}', 'unknown-version', 'version 2'],
  ])('%s: %s', (text, code, words) => {
    const [problem] = problemsOf(text);
    expect(problem?.code).toBe(code);
    expect(problem?.message).toContain(words);
    expect(problem?.advice).toBeTruthy();
  });

  it('tells each wrong value by its path, twenty at most and how many more', () => {
    const marks = Array.from({ length: 30 }, (_, i) => ({
      key: String(i),
      action: 'pedal',
      startS: 'soon',
      endS: null,
    }));
    const capture = { id: 'c1', title: '', role: 'main', files: [], marks };
    const problems = problemsOf(JSON.stringify({ ...emptyDossier(), captures: [capture] }));
    expect(problems[0]?.place?.path).toBe('captures[0].marks[0].startS');
    expect(problems).toHaveLength(21);
    expect(problems.at(-1)?.message).toContain('10 more');
  });
});
