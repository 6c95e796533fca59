/**
 * Names as the eye reads them: letters of other alphabets that look like Latin ones stand for those, and what cannot be seen is gone. A release by name must not
 * mean another frame than the person read, nor a torque pass because one of its letters is Cyrillic.
 */

/** A part of the lookalikes of Unicode Technical Standard 39, from memory: Cyrillic and Greek small letters. */
const TWINS: Readonly<Record<string, string>> = Object.fromEntries(
  [
    'аa',
    'вb',
    'еe',
    'һh',
    'іi',
    'ӏl',
    'јj',
    'кk',
    'мm',
    'нh',
    'оo',
    'рp',
    'ԛq',
    'ѕs',
    'тt',
    'уy',
    'ԝw',
    'хx',
    'сc',
    'ԁd',
    'ѵv',
  ]
    .concat(['αa', 'βb', 'ιi', 'κk', 'νv', 'οo', 'ρp', 'τt', 'υu', 'χx', 'ϲc', 'ϳj'])
    .map((pair) => [pair.slice(0, 1), pair.slice(1)]),
);

/** Lower case, accents and invisible signs away, all that is no letter or digit as one blank. */
export const plainWords = (name: string): string =>
  name
    .normalize('NFKD')
    .replace(/[\p{M}\p{Cf}\p{Cc}]+/gu, '')
    .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();

/** The same for all names that look alike. */
export const asSeen = (name: string): string => [...plainWords(name)].map((letter) => TWINS[letter] ?? letter).join('');
