#pragma once
// Who hears what happens, known when it is compiled: a fact that nobody hears costs nothing, and one that somebody
// hears is a call that can be written out in the driver's loop.
#include <tuple>
#include <type_traits>

#include "sim/judge/events.hpp"

namespace sim {

/// L says in its list that it hears facts of the kind F.
template <class L, class F>
inline constexpr bool lists = []<class... Listed>(const std::tuple<Listed...>*) {
    return (std::is_same_v<Listed, F> || ...);
}(static_cast<const typename L::hears*>(nullptr));

/// L has `void hear(const F&)`, of just that type: a conversion would drop facts unseen.
template <class L, class F>
inline constexpr bool has_hear = requires {
    static_cast<void (L::*)(const F&)>(&L::hear);
};

/// A listener has a hear() for each fact that it lists, and for no other.
template <class L>
inline constexpr bool hears_what_it_lists = []<class... F>(const std::tuple<F...>*) {
    return ((lists<L, F> == has_hear<L, F>)&&...);
}(static_cast<const Facts*>(nullptr));

/// Listeners, told in their order. A listener names its facts: `using hears = std::tuple<Concluded, Changed>;`. They
/// must outlive this and may not act on what they hear of.
template <class... L>
struct Heard {
    static_assert((hears_what_it_lists<L> && ...),
                  "a listener needs `void hear(const F&)` for each fact in `hears`, and for no other");
    std::tuple<L&...> all;

    template <class F>
    static constexpr bool wanted = (lists<L, F> || ...);

    template <class F>
    [[gnu::always_inline]] void tell(const F& fact) const {
        (tell_one(std::get<L&>(all), fact), ...);
    }

  private:
    template <class One, class F>
    [[gnu::always_inline]] static void tell_one(One& listener, const F& fact) {
        if constexpr (lists<One, F>) listener.hear(fact);
    }
};

}  // namespace sim
