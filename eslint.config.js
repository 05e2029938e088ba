import js from '@eslint/js';
import svelte from 'eslint-plugin-svelte';
import globals from 'globals';
import ts from 'typescript-eslint';

// Type-checked, because a forgotten await in a gateway loses data without a word.
const typed = {
  '@typescript-eslint/no-floating-promises': 'error',
  '@typescript-eslint/no-misused-promises': 'error',
  '@typescript-eslint/switch-exhaustiveness-check': ['error', { considerDefaultExhaustiveForUnions: true }],
  '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
  '@typescript-eslint/require-await': 'off',
  '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true, allowBoolean: true, allowNullish: true }],
  '@typescript-eslint/no-unnecessary-condition': 'off',
};

export default ts.config(
  { ignores: ['dist/', 'node_modules/', '*.config.js', 'scripts/*.mjs', 'tests/**/*.mjs'] },
  js.configs.recommended,
  ...ts.configs.recommendedTypeChecked,
  ...svelte.configs.recommended,
  {
    languageOptions: {
      globals: globals.node,
      parserOptions: { projectService: true, extraFileExtensions: ['.svelte'] },
    },
    rules: typed,
  },
  {
    files: ['dashboard/**'],
    languageOptions: { globals: globals.browser, parserOptions: { parser: ts.parser } },
    rules: { 'svelte/no-at-html-tags': 'error' },
  },
  {
    // The core is values in, values out: tsc gives it no Node and no DOM types, this takes the clock and the dice.
    files: ['src/**/*.ts'],
    rules: {
      'no-restricted-properties': [
        'error',
        { object: 'Date', property: 'now', message: 'src/ never reads the clock: take time as an argument' },
        { object: 'Math', property: 'random', message: 'src/ never rolls dice: take chance as an argument' },
      ],
    },
  },
  {
    // Library objects of the simulator, tests and doubles are looser than ours.
    files: ['tests/**', 'gateway/simulator/**'],
    rules: {
      '@typescript-eslint/no-unsafe-assignment': 'off',
      '@typescript-eslint/no-unsafe-member-access': 'off',
      '@typescript-eslint/no-unsafe-call': 'off',
      '@typescript-eslint/no-unsafe-argument': 'off',
      '@typescript-eslint/no-unsafe-return': 'off',
      '@typescript-eslint/no-non-null-assertion': 'off',
    },
  },
);
