/** What a parser that shares nothing with the project makes of HTML: Python's own. */
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
