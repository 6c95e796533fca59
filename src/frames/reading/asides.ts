/** Lines that are no frame and do not claim to be one: blank, comments, shell prompts, rules of dashes. */
const COMMENT = /^\s*(#|\/\/|;|%|--|"?\*\*|<!--|rem\s)/i;
const PROMPT =
  /^\s*(\^C|\[[\w.-]+@[^\]]*\][$#]|[\w.-]+@[\w.-]+[^$#>]*[$#>](\s|$)|[$>](\s|$)|[A-Za-z]:\\[^>]*>|\(\w+\)\s*[\w.-]+@|~\S*\s*[$#]\s|(ba|z|c|k)?sh-[\d.]+[$#])/;
const RULE = /^[\s\-=_+|*.~,;]*$/;

export const isAside = (text: string): boolean => RULE.test(text) || COMMENT.test(text) || PROMPT.test(text);
