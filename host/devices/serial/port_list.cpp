#include <libserialport.h>

#include <algorithm>

#include "devices/serial/serial_port.hpp"

namespace breakstep {

Expected<std::vector<PortInfo>> candidate_ports() {
    sp_port** list = nullptr;
    if (sp_list_ports(&list) != SP_OK)
        return failure(ErrorKind::system, "the ports of this computer can't be listed",
                       "name the port with --rig PORT");
    const auto text = [](const char* value) { return value != nullptr ? std::string(value) : std::string(); };
    std::vector<PortInfo> ports;
    for (sp_port** each = list; *each != nullptr; ++each) {
        PortInfo port;
        port.path = text(sp_get_port_name(*each));
        port.description = text(sp_get_port_description(*each));
        port.serial = text(sp_get_port_usb_serial(*each));
        int vendor = -1, product = -1;
        if (sp_get_port_usb_vid_pid(*each, &vendor, &product) == SP_OK) {
            port.usb_vendor = vendor;
            port.usb_product = product;
        }
        ports.push_back(std::move(port));
    }
    sp_free_port_list(list);
    std::stable_partition(ports.begin(), ports.end(), [](const PortInfo& port) { return port.usb_vendor >= 0; });
    return ports;
}

}  // namespace breakstep
