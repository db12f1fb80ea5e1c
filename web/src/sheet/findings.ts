import type { TrayFinding } from '../api/types';

/** Still to be judged: neither taken nor left alone. */
export const isOpen = (f: TrayFinding): boolean => f.state === 'open' || f.state === 'edited';
