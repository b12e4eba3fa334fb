#include "tools/text/apart.hpp"

#include "sim/scenario/reach.hpp"

namespace tools {

Value describe(const sim::KeptApart& apart) {
    return Value::Object{{"setting", apart.setting},
                         {"controller", Value::text_or_null(apart.controller)},
                         {"device", Value::text_or_null(apart.device)},
                         {"why", apart.why},
                         {"mend", apart.mend},
                         {"arrives", apart.arrives},
                         {"words", in_words(apart)}};
}

}  // namespace tools
