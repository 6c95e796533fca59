/** Names of a map as C identifiers: safe, unique, and no keyword of C or C++ nor a standard type. */
const KEYWORDS = new Set(
  `alignas alignof and and_eq asm auto bitand bitor bool break case catch char class compl concept const const_cast
  consteval constexpr constinit continue co_await co_return co_yield decltype default delete do double dynamic_cast else
  enum explicit export extern false float for friend goto if inline int long mutable namespace new noexcept not not_eq
  nullptr operator or or_eq private protected public register reinterpret_cast requires restrict return short signed
  sizeof static static_assert static_cast struct switch template this thread_local throw true try typedef typeid typename
  union unsigned using virtual void volatile wchar_t while xor xor_eq linux unix`.split(/\s+/),
);
/** In C++ a member must not be called as a type that its struct uses; and words that compilers and headers for small machines define away (common practice, no source). */
const OTHERS = new Set(
  `int8_t int16_t int32_t int64_t uint8_t uint16_t uint32_t uint64_t intptr_t uintptr_t intmax_t uintmax_t size_t
  ptrdiff_t char8_t char16_t char32_t max_align_t null errno near far huge interrupt`.split(/\s+/),
);

/** Letters, digits and single underscores; never empty, never a digit first, at most 48 characters. */
export function safeIdentifier(name: string): string {
  const plain = name
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '')
    .slice(0, 48)
    .replace(/_+$/, '');
  const started = /^[A-Za-z]/.test(plain) ? plain : `x_${plain}`.replace(/_$/, '');
  const lower = started.toLowerCase();
  return KEYWORDS.has(lower) || OTHERS.has(lower) ? `${started}_` : started;
}

/** Gives out names that are not taken; `forms` are all identifiers that come with a name and must be free too. */
export class NameSpace {
  readonly #taken: Set<string>;
  constructor(reserved: Iterable<string> = []) {
    this.#taken = new Set(reserved);
  }

  claim(wanted: string, forms: (name: string) => readonly string[] = (name) => [name]): string {
    return this.claimSafe(safeIdentifier(wanted), forms);
  }

  /** For names made of safe parts already, which may be long. */
  claimSafe(base: string, forms: (name: string) => readonly string[] = (name) => [name]): string {
    for (let n = 1; ; n++) {
      const name = n === 1 ? base : `${base}_${n}`;
      if (forms(name).some((form) => this.#taken.has(form))) continue;
      for (const form of forms(name)) this.#taken.add(form);
      return name;
    }
  }
}
