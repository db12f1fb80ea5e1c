import svelte from 'eslint-plugin-svelte';
import ts from 'typescript-eslint';

const LONGEST_FILE = 400;
const LONGEST_BODY = 40; // 30 lines of code and the frame of the function

export default ts.config(
  { ignores: ['src/api/schema.d.ts'] },
  ...ts.configs.strict,
  ...svelte.configs.recommended,
  { files: ['**/*.svelte', '**/*.svelte.ts'], languageOptions: { parserOptions: { parser: ts.parser } } },
  {
    rules: {
      'max-lines': ['error', { max: LONGEST_FILE }],
      'max-lines-per-function': ['error', { max: LONGEST_BODY, skipBlankLines: true, skipComments: true }],
      'no-console': 'error',
      eqeqeq: 'error',
      '@typescript-eslint/no-non-null-assertion': 'off',
      'svelte/require-each-key': 'error',
      'svelte/prefer-svelte-reactivity': 'off',
    },
  },
  { files: ['**/*.test.ts', '**/*.svelte'], rules: { 'max-lines-per-function': 'off' } },
);
