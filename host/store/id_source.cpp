#include "store/id_source.hpp"

#include <random>

namespace breakstep {
namespace {

std::uint64_t system_number() {
    std::random_device device;
    return (static_cast<std::uint64_t>(device()) << 32U) ^ device();
}

}  // namespace

IdSource::IdSource(std::optional<std::uint64_t> seed) : random_(seed ? *seed : system_number(), 0x1D) {}

std::uint64_t IdSource::next() {
    for (;;) {
        const std::uint64_t id = (static_cast<std::uint64_t>(random_.next()) << 32U) | random_.next();
        if (id != 0) return id;
    }
}

}  // namespace breakstep
