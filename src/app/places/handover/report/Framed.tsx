/**
 * A document of our own in a frame where nothing can run. The frame inherits the page's content policy, which knows no inline styles: the document's
 * style sheet is taken out of it and handed to the frame as an object, which is why the frame is of the same origin.
 */
import { useMemo, type ReactNode, type SyntheticEvent } from 'react';
import { withoutSheet } from './sheet.ts';

export interface FramedProps {
  readonly title: string;
  readonly html: string;
}

export function Framed({ title, html }: FramedProps): ReactNode {
  const { bare, sheet } = useMemo(() => withoutSheet(html), [html]);
  return (
    <iframe
      className="handover-report"
      title={title}
      sandbox="allow-same-origin"
      srcDoc={bare}
      onLoad={(event) => dress(event, sheet)}
    />
  );
}

function dress({ currentTarget: frame }: SyntheticEvent<HTMLIFrameElement>, text: string): void {
  const inside = frame.contentWindow as (Window & typeof globalThis) | null;
  const { contentDocument } = frame;
  if (!inside || !contentDocument) return;
  // A sheet belongs to the document it was made in.
  const sheet = new inside.CSSStyleSheet();
  sheet.replaceSync(text);
  contentDocument.adoptedStyleSheets = [sheet];
  frame.classList.add('dressed');
}
