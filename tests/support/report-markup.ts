/**
 * The markup of a report, read the plain way that HTML is written here: what stands between < and > is a tag with quoted attributes. A text of a
 * map that broke out of its place would show as a tag, an attribute or an address that the report never writes.
 */

const TAGS = new Set(
  `!doctype html head meta title style body svg symbol use path rect circle text g clipPath desc div nav main header
  footer section h1 h2 h3 p b i code ul ol li dl dt dd span a figure figcaption details summary table thead tbody tr th td`.split(
    /\s+/,
  ),
);
const ATTRIBUTES = new Set(
  `html lang charset http-equiv content name class id aria-label aria-labelledby aria-hidden role tabindex href scope
  width height viewBox fill fill-opacity d x y cx cy r stroke stroke-width stroke-dasharray stroke-opacity clip-path
  font-size font-weight`.split(/\s+/),
);

interface Tag {
  readonly name: string;
  readonly attributes: readonly (readonly [name: string, value: string])[];
  /** What is neither a name nor a quoted attribute. */
  readonly rest: string;
}

export function tagsOf(html: string): Tag[] {
  return [...html.matchAll(/<([^>]*)>/g)].map(([, inside]) => {
    const text = (inside ?? '').replace(/^\//, '').replace(/\/$/, '');
    const name = /^!?[a-zA-Z][a-zA-Z0-9]*/.exec(text)?.[0] ?? '';
    const attributes: [string, string][] = [];
    const rest = text.slice(name.length).replace(/\s([a-zA-Z-]+)(?:="([^"]*)")?/g, (_, key: string, value?: string) => {
      attributes.push([key, value ?? '']);
      return '';
    });
    return { name, attributes, rest: rest.trim() };
  });
}

/** What is in the file that a report does not write itself; empty for a good one. */
export function strangeMarkup(html: string): string[] {
  return tagsOf(html).flatMap(({ name, attributes, rest }) => {
    const strange = attributes.filter(([key, value]) => {
      if (!ATTRIBUTES.has(key)) return true;
      if (key === 'href') return !/^#[a-z0-9-]+$/.test(value);
      if (key === 'id' || key === 'aria-labelledby') return !/^[a-z0-9 -]+$/.test(value);
      return key === 'clip-path' ? !/^url\(#[a-z0-9-]+\)$/.test(value) : false;
    });
    return [
      ...(TAGS.has(name) ? [] : [`tag ${name}`]),
      ...strange.map(([key, value]) => `${name} ${key}="${value}"`),
      ...(rest ? [`${name}: ${rest}`] : []),
    ];
  });
}
