/** Whether the desk is lit or dim. Held here, below all painting, so that canvases are painted anew when it changes. */
let dim = $state(false);

export const isDim = (): boolean => dim;

export function setDim(on: boolean): void {
  document.documentElement.classList.toggle('dim', on);
  dim = on;
}
