/** Serves a folder on the loopback interface; port 0 takes a free one. */
export function serveFolder(folder: string, port: number): Promise<{ address: string; close(): Promise<void> }>;
