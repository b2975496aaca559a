using Microsoft.AspNetCore.Components.WebAssembly.Hosting;
using Microsoft.JSInterop;

var builder = WebAssemblyHostBuilder.CreateDefault(args);
builder.RootComponents.Add<App>("#page");
var browser = await Browser.OpenAsync(builder.Services.BuildServiceProvider().GetRequiredService<IJSRuntime>());
builder.Services.AddSingleton(browser);
builder.Services.AddSingleton(new HttpClient { BaseAddress = new Uri(builder.HostEnvironment.BaseAddress) });
builder.Services.AddSingleton(TimeProvider.System);
builder.Services.AddSingleton<Server>();
builder.Services.AddSingleton<Phone>();
builder.Services.AddSingleton(await browser.SpeechAsync());
await builder.Build().RunAsync();
