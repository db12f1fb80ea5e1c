const ROOT_PX = 16;

const measured = (): number => (typeof document === 'undefined' ? 1 : parseFloat(getComputedStyle(document.documentElement).fontSize) / ROOT_PX || 1);

let size = $state(measured());
if (typeof addEventListener === 'function') addEventListener('resize', () => (size = measured()));

/** How much larger everything is drawn than on a screen of 1920x1080: 1 there and below, 2 at 3840x2160. As the style sheets grow. */
export const grown = (): number => size;
