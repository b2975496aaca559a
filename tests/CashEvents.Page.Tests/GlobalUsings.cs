global using CashEvents.Api.Hosting;
global using CashEvents.Api.Households;
global using CashEvents.Api.Http;
global using CashEvents.Api.Tests.Hosting;
global using CashEvents.Api.Tests.Http;
global using CashEvents.Domain.Books;
global using CashEvents.Domain.Households;
global using CashEvents.EmbeddedPostgres;
global using CashEvents.EmbeddedPostgres.Tests;
global using CashEvents.Store.Books;
global using CashEvents.Store.Households;
global using CashEvents.Store.Writing;
global using CashEvents.Tests;
global using Database = CashEvents.EmbeddedPostgres.Tests.Database;
// In these tests a household is one that a client asks over HTTP.
global using Household = CashEvents.Api.Tests.Hosting.Household;

// One phone is handed from test to test.
[assembly: Xunit.CollectionBehavior(DisableTestParallelization = true)]
