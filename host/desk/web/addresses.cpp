#include "desk/web/addresses.hpp"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <memory>

namespace breakstep::desk {
namespace {

// RFC 1918.
bool is_private(std::uint32_t address) {
    return (address >> 24U) == 10 || (address >> 20U) == 0xAC1 || (address >> 16U) == 0xC0A8;
}

}  // namespace

std::vector<std::string> own_addresses() {
    ifaddrs* list = nullptr;
    if (getifaddrs(&list) != 0) return {};
    const std::unique_ptr<ifaddrs, decltype(&freeifaddrs)> owned(list, freeifaddrs);
    std::vector<std::string> near, others;
    for (const ifaddrs* each = list; each != nullptr; each = each->ifa_next) {
        if (each->ifa_addr == nullptr || each->ifa_addr->sa_family != AF_INET) continue;
        if ((each->ifa_flags & IFF_UP) == 0 || (each->ifa_flags & IFF_LOOPBACK) != 0) continue;
        const auto& address = reinterpret_cast<const sockaddr_in*>(each->ifa_addr)->sin_addr;
        std::array<char, INET_ADDRSTRLEN> text{};
        if (inet_ntop(AF_INET, &address, text.data(), text.size()) == nullptr) continue;
        (is_private(ntohl(address.s_addr)) ? near : others).emplace_back(text.data());
    }
    near.insert(near.end(), others.begin(), others.end());
    return near;
}

}  // namespace breakstep::desk
