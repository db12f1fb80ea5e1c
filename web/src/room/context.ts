import { getContext, setContext } from 'svelte';
import type { Desk } from './desk.svelte';

const KEY = Symbol('desk');

export const giveDesk = (desk: Desk): Desk => setContext(KEY, desk);
export const theDesk = (): Desk => getContext<Desk>(KEY);
