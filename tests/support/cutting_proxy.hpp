// A line between a laptop and its server that is cut at bytes chosen by a seed: every connection that comes in is
// passed on to the server, until it has carried its number of bytes, both ways together. Then both ends are reset.
//
// Owned by one test; a thread of its own passes bytes on. Loopback only.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cstdint>
#include <thread>
#include <vector>

#include "core/random.hpp"

namespace breakstep::testing {

class CuttingProxy {
  public:
    /// Until `cuts` connections were cut, each after 1 to `bytes_max` bytes; those that begin after them are not.
    CuttingProxy(int server_port, std::uint64_t seed, int cuts, int bytes_max)
        : server_port_(server_port), cuts_(cuts), bytes_max_(bytes_max), random_(seed) {
        listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_in address = loopback(0);
        socklen_t size = sizeof address;
        (void)::bind(listener_, reinterpret_cast<sockaddr*>(&address), size);
        (void)::listen(listener_, 64);
        (void)::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size);
        port_ = ntohs(address.sin_port);
        thread_ = std::thread([this] { pass_on(); });
    }
    ~CuttingProxy() {
        stopping_ = true;
        thread_.join();
        for (const Line& line : lines_) cut(line, false);
        ::close(listener_);
    }
    CuttingProxy(const CuttingProxy&) = delete;
    CuttingProxy& operator=(const CuttingProxy&) = delete;

    [[nodiscard]] int port() const { return port_; }
    [[nodiscard]] int cut_so_far() const { return cut_; }
    void set_server(int port) { server_port_ = port; }

  private:
    struct Line {
        int laptop = -1, server = -1;
        std::int64_t bytes_left = -1;  ///< -1: never cut
        bool gone = false;
    };
    static sockaddr_in loopback(int port) {
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_port = htons(static_cast<std::uint16_t>(port));
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        return address;
    }
    /// A reset, not a goodbye: what is on its way is lost.
    static void cut(const Line& line, bool reset) {
        const linger hard{1, 0};
        for (const int end : {line.laptop, line.server}) {
            if (end < 0) continue;
            if (reset) (void)::setsockopt(end, SOL_SOCKET, SO_LINGER, &hard, sizeof hard);
            ::close(end);
        }
    }
    void take_new() {
        Line line;
        line.laptop = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
        if (line.laptop < 0) return;
        line.server = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        const sockaddr_in address = loopback(server_port_);
        if (::connect(line.server, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
            cut(line, true);
            return;
        }
        if (cut_ < cuts_) {
            line.bytes_left = 1 + static_cast<std::int64_t>(random_.below(static_cast<std::uint32_t>(bytes_max_)));
        }
        lines_.push_back(line);
    }
    void carry(Line& line, int from, int to) {
        char bytes[4096];
        std::size_t most = sizeof bytes;
        if (line.bytes_left >= 0) most = std::min(most, static_cast<std::size_t>(line.bytes_left));
        const ssize_t got = ::recv(from, bytes, most, 0);
        if (got <= 0) {
            line.gone = true;
            return;
        }
        for (ssize_t at = 0; at < got;) {
            const ssize_t sent = ::send(to, bytes + at, static_cast<std::size_t>(got - at), MSG_NOSIGNAL);
            if (sent <= 0) {
                line.gone = true;
                return;
            }
            at += sent;
        }
        if (line.bytes_left < 0) return;
        line.bytes_left -= got;
        if (line.bytes_left == 0) {
            line.gone = true;
            ++cut_;
        }
    }
    void pass_on() {
        while (!stopping_) {
            std::vector<pollfd> ends{{listener_, POLLIN, 0}};
            for (const Line& line : lines_) {
                ends.push_back({line.laptop, POLLIN, 0});
                ends.push_back({line.server, POLLIN, 0});
            }
            if (::poll(ends.data(), ends.size(), 50) <= 0) continue;
            for (std::size_t i = 0; i < lines_.size(); ++i) {
                if (ends[1 + 2 * i].revents != 0) carry(lines_[i], lines_[i].laptop, lines_[i].server);
                if (!lines_[i].gone && ends[2 + 2 * i].revents != 0)
                    carry(lines_[i], lines_[i].server, lines_[i].laptop);
                if (lines_[i].gone) cut(lines_[i], true);
            }
            std::erase_if(lines_, [](const Line& line) { return line.gone; });
            if (ends[0].revents != 0) take_new();
        }
    }

    std::atomic<int> server_port_;
    const int cuts_, bytes_max_;
    Random random_;
    int listener_ = -1, port_ = 0;
    std::atomic<int> cut_{0};
    std::atomic<bool> stopping_{false};
    std::vector<Line> lines_;
    std::thread thread_;
};

}  // namespace breakstep::testing
