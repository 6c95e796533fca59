/** Looks at HTML and Markdown with nothing of the project's own: HTML by Python's parser, Markdown line by line. */
import { spawnSync } from 'node:child_process';

export interface Markup {
  /** "tag attribute attribute" of every element, in order; comments and declarations too. */
  readonly elements: readonly string[];
  /** [attribute, value] of all elements. */
  readonly values: readonly (readonly [string, string])[];
  readonly text: string;
}

const PARSER = `
import json, sys
from html.parser import HTMLParser
class Look(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.elements, self.values, self.text = [], [], []
    def handle_starttag(self, tag, attrs):
        self.elements.append(" ".join([tag, *(name for name, _ in attrs)]))
        self.values.extend([name, value or ""] for name, value in attrs)
    def handle_data(self, data):
        self.text.append(data)
    def handle_comment(self, data):
        self.elements.append("<!--")
    def handle_decl(self, decl):
        self.elements.append("<!" + decl)
    def handle_pi(self, data):
        self.elements.append("<?")
    def unknown_decl(self, data):
        self.elements.append("<![")
look = Look()
look.feed(sys.stdin.buffer.read().decode("utf-8"))
look.close()
print(json.dumps({"elements": look.elements, "values": look.values, "text": "".join(look.text)}))
`;

export function parseHtml(html: string): Markup {
  const { status, stdout, stderr } = spawnSync('python3', ['-c', PARSER], {
    input: html,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as Markup;
}

/** Signs that turn the direction of writing or end a text. */
export const UNSHOWABLE = /[\u202a-\u202e\u2066-\u2069\u200e\u200f\u0000]/;

/** Of a table's line the cells: bars that nothing escapes part them. */
const bars = (line: string): number => line.replace(/\\./g, '').split('|').length;

/** Of each line of Markdown what begins a block, with the number of cells where it is a table's, or that it is empty. */
export const blockShape = (markdown: string): string[] =>
  markdown.split('\n').map((line) => {
    const [begins = ''] = /^(\s*(#+|[-*+]|\d+\.|>|```|~~~|---|===)(?= |$)| {4}|\|)?/.exec(line) ?? [];
    return `${begins}${begins === '|' ? bars(line) : ''}${line === '' ? 'empty' : ''}`;
  });
