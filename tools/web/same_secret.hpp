#pragma once
#include <algorithm>
#include <string_view>

namespace tools {

/// Takes as long whatever the two have in common, so that nobody learns a secret by the clock.
inline bool same_secret(std::string_view a, std::string_view b) {
    unsigned differ = a.size() == b.size() ? 0 : 1;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
        differ |= static_cast<unsigned>(static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]));
    return differ == 0;
}

}  // namespace tools
