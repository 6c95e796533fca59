/** Words of the finders as they begin or fill a line of the sheet. */

export const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** "no answer" becomes "No answer."; what ends already is left as it is. */
export function sentence(words: string): string {
  const text = capital(words.trim());
  return text === '' || /[.!?]$/.test(text) ? text : `${text}.`;
}

/** Several of them, each by itself. */
export const sentencesOf = (words: string): readonly string[] => words.split(/(?<=\.) (?=[A-Z])/).map(sentence);
