import tseslint from 'typescript-eslint';
import reactHooks from 'eslint-plugin-react-hooks';

const CORE = ['src/{kit,frames,map,timing,fields,actions,reference,demo,draft,proof,handover,jobs}/**/*.ts'];

export default tseslint.config(
  { ignores: ['dist/**', 'node_modules/**', 'coverage/**', 'fixtures/**'] },
  ...tseslint.configs.recommended,
  {
    rules: {
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      '@typescript-eslint/consistent-type-imports': 'error',
      eqeqeq: 'error',
      'prefer-const': 'error',
    },
  },
  {
    files: CORE,
    rules: {
      'no-console': 'error',
      'no-restricted-properties': [
        'error',
        { object: 'Math', property: 'random', message: 'Take a seeded Random as a parameter.' },
        { object: 'Date', property: 'now', message: 'Take `now` as a parameter.' },
        { object: 'performance', property: 'now', message: 'Take a clock as a parameter.' },
      ],
      'no-restricted-globals': ['error', 'window', 'document', 'process', 'setTimeout', 'setInterval'],
    },
  },
  {
    files: ['src/app/**/*.{ts,tsx}'],
    plugins: { 'react-hooks': reactHooks },
    rules: { 'react-hooks/rules-of-hooks': 'error', 'react-hooks/exhaustive-deps': 'error' },
  },
  { files: ['**/*.cjs'], rules: { '@typescript-eslint/no-require-imports': 'off' } },
);
