/**
 * The few globals that every target (browser, worker, Node 20) has and the ES library does not name.
 * Kept minimal on purpose: floors 0 to 5 compile without the DOM and without Node types.
 */
interface CoreReadableReader {
  read(): Promise<{ done: boolean; value?: Uint8Array }>;
  cancel(reason?: unknown): Promise<void>;
}
interface CoreReadable {
  getReader(): CoreReadableReader;
}
interface CoreWriter {
  ready: Promise<void>;
  write(chunk: Uint8Array): Promise<void>;
  close(): Promise<void>;
  abort(reason?: unknown): Promise<void>;
}
declare class DecompressionStream {
  constructor(format: 'gzip' | 'deflate' | 'deflate-raw');
  readonly readable: CoreReadable;
  readonly writable: { getWriter(): CoreWriter };
}
declare class TextDecoder {
  constructor(label?: string, options?: { fatal?: boolean; ignoreBOM?: boolean });
  decode(input?: Uint8Array, options?: { stream?: boolean }): string;
}
declare class TextEncoder {
  encode(input?: string): Uint8Array<ArrayBuffer>;
}
