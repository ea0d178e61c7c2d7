// The desk on the network: Boost.Beast on an io_context and a thread of its own, so that no browser can slow the
// engine. Loopback only, or (`hall`) every address of this computer, by TLS.
//
// Owned by the command that opened it; its functions are the main thread's. Everything of the house is called on the
// desk's thread from start() until the server is gone. Limits: 64 connections, 24 from one address; 8 KiB of headers;
// 96 KiB of body; a request is whole within 10 s and answered within 5; a WebSocket's frame has 1 KiB.
//
// open() fails where the port can't be had (in_use, system) or no certificate can be made; later faults of single
// connections end those alone and are counted.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "core/error.hpp"
#include "desk/desk.hpp"

namespace breakstep::desk {

struct ServerOptions {
    std::uint16_t port = 8080;  ///< 0: any that is free
    bool hall = false;
    /// Where the certificate and the list of paired phones stand; empty: nothing is kept, for `hall` not allowed.
    std::filesystem::path folder;
};

struct ServerCounters {
    std::uint64_t connections = 0, connections_refused = 0, requests = 0, requests_refused = 0, frames_refused = 0;
};

class DeskServer {
  public:
    [[nodiscard]] static Expected<std::unique_ptr<DeskServer>> open(DeskHouse house, const ServerOptions& options);
    /// Ends every connection, then the thread.
    ~DeskServer();
    DeskServer(const DeskServer&) = delete;
    DeskServer& operator=(const DeskServer&) = delete;

    /// A line for the coach, on the desk's thread; set before start().
    std::function<void(const std::string&)> on_notice;
    void start();

    [[nodiscard]] std::uint16_t port() const;
    [[nodiscard]] const DeskPlace& place() const;
    /// New digits are made and told, with the address, the fingerprint and (`qr`) its picture: on the desk's thread.
    void new_digits(std::function<void(const std::string& lines)> told, bool qr);
    /// The evening is over: every phone is forgotten.
    void forget_phones();
    [[nodiscard]] ServerCounters counters() const;

    struct State;  ///< internal

  private:
    explicit DeskServer(std::shared_ptr<State> state);
    std::shared_ptr<State> state_;
};

}  // namespace breakstep::desk
